import { command } from '../frame/command.ts';
import { endings, json } from '../words.ts';

export const checkDesk = command({
  words: (it) =>
    it
      .description('Looks at what could be missing on this machine, and says what to do. Changes nothing.')
      .addOption(json()),
  examples: ['stickwright check-desk'],
  codes: endings('nothing that is needed is broken', 'something is there and cannot be used'),
  withoutSettings: true,
  run: async () => {
    const { lookAtDesk } = await import('../../io/files/look-at-desk.ts');
    const { judgeDesk, verdictOfDesk } = await import('../../core/guide/judge-desk.ts');
    // A setting that is broken is one of the things to find.
    const { applySettings } = await import('../../io/files/settings-file.ts');
    await Promise.resolve()
      .then(() => applySettings(process.env))
      .catch(() => {});
    const items = judgeDesk(await lookAtDesk(), process.platform);
    return { verdict: verdictOfDesk(items), items };
  },
  text: async ({ items }, look) => (await import('../../render/text/render-settings.ts')).renderDesk(items, look),
  json: async ({ verdict, items }, exitCode) =>
    (await import('../../render/json/stick-documents.ts')).deskDocument(verdict, items, exitCode),
});
