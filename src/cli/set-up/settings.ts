import { delimiter, resolve } from 'node:path';
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
    const { objectionToSetting } = await import('../../core/model/settings.ts');
    const { readSettings, writeSettings } = await import('../../io/files/settings-file.ts');
    const setting = await named(name);
    const value = asValue(setting, values);
    const wrong = objectionToSetting(setting, value) ?? (await missing(setting, value));
    if (wrong !== undefined)
      throw new UsageError(
        wrong,
        setting.values ? `Say one of: ${setting.values.join(', ')}.` : `It is for: ${setting.what}.`,
      );
    await writeSettings({ ...readSettings(), [name]: value });
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
    const { readSettings, writeSettings } = await import('../../io/files/settings-file.ts');
    await named(name);
    const { [name]: had, ...others } = readSettings();
    await writeSettings(others);
    return await look(had === undefined ? `${name} was not set.` : `${name} is not set any more.`);
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

/** Paths are kept whole: a setting is read in other folders than it was made in. */
function asValue({ name, kind }: Setting, values: readonly string[]): string {
  if (kind === 'paths') return values.map((one) => resolve(one)).join(delimiter);
  if (values.length > 1)
    throw new UsageError(`${name} takes one value.`, 'Put it in quotation marks if it has spaces.');
  return kind === 'path' ? resolve(values[0] ?? '') : (values[0] ?? '');
}

async function missing({ kind, name }: Setting, value: string): Promise<string | undefined> {
  if (kind !== 'paths') return undefined;
  const { stat } = await import('node:fs/promises');
  for (const path of value.split(delimiter))
    if ((await stat(path).catch(() => undefined)) === undefined) return `${name}: there is no ${path}.`;
  return undefined;
}
