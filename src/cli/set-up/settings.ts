import type { Setting, SettingSeen } from '../../core/model/settings.ts';
import type { Look } from '../../render/text/page.ts';
import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { json } from '../words.ts';

interface SettingsReport {
  readonly verdict: 'ready';
  readonly path: string;
  readonly seen: readonly SettingSeen[];
  /** What was changed. */
  readonly changed: string | undefined;
}

const text = async (report: SettingsReport, look: Look): Promise<string> =>
  (await import('../../render/text/render-settings.ts')).renderSettings(report, look);

const document = async ({ path, seen }: SettingsReport, exitCode: number) =>
  (await import('../../render/json/stick-documents.ts')).settingsDocument(path, seen, exitCode);

export const settingsShow = command({
  words: (it) => it.description('Shows every setting, its value, and where it comes from.').addOption(json()),
  examples: ['stickwright settings show'],
  withoutSettings: true,
  run: async (): Promise<SettingsReport> => await look(undefined),
  text,
  json: document,
});

export const settingsSet = command({
  words: (it) =>
    it
      .description('Sets one for this desk. A variable beats it, and a word on the command line beats both.')
      .argument('<name>', 'as stickwright settings shows it')
      .argument('<value...>', 'several paths where it takes several')
      .addOption(json()),
  examples: ['stickwright settings set families ~/families', 'stickwright settings set time-zone Europe/Lisbon'],
  run: async (name, values): Promise<SettingsReport> => {
    const { setSetting } = await import('../../io/files/change-settings.ts');
    const refused = await setSetting(await named(name), values, process.cwd());
    if (refused !== undefined) throw new UsageError(refused.because, refused.todo);
    return await look(`${name} is set.`);
  },
  text,
  json: document,
});

export const settingsUnset = command({
  words: (it) =>
    it
      .description('Takes one back: it is then as it comes.')
      .argument('<name>', 'as stickwright settings shows it')
      .addOption(json()),
  examples: ['stickwright settings unset families'],
  run: async (name): Promise<SettingsReport> => {
    const { unsetSetting } = await import('../../io/files/change-settings.ts');
    const was = await unsetSetting(await named(name));
    return await look(was ? `${name} is not set any more.` : `${name} was not set.`);
  },
  text,
  json: document,
});

async function look(changed: string | undefined): Promise<SettingsReport> {
  const { seeSettings } = await import('../../core/model/settings.ts');
  const { environmentBefore, readSettings, settingsPath } = await import('../../io/files/settings-file.ts');
  return {
    verdict: 'ready',
    path: settingsPath(),
    seen: seeSettings(readSettings(), environmentBefore(process.env)),
    changed,
  };
}

async function named(name: string): Promise<Setting> {
  const { settingNamed, settings } = await import('../../core/model/settings.ts');
  const found = settingNamed(name);
  if (found !== undefined) return found;
  const { didYouMean, nearestWords } = await import('../../core/text/nearest.ts');
  const names = settings.map((one) => one.name);
  throw new UsageError(
    `There is no setting ${name}.${didYouMean(nearestWords(name, names))}`,
    `There are: ${names.join(', ')}.`,
  );
}
