import { stat } from 'node:fs/promises';
import { delimiter, isAbsolute, resolve } from 'node:path';
import { objectionToSetting, type Setting } from '../../core/model/settings.ts';
import { readSettings, writeSettings } from './settings-file.ts';

/** Why a setting was left as it is, and what to do. */
export interface SettingRefused {
  readonly because: string;
  readonly todo: string;
}

/**
 * Sets one for this desk; undefined where that is done. Paths are kept whole, because a setting is read in other
 * folders than it was made in: one that is not begins in FOLDER, and is refused where there is no such folder. Throws
 * `file/unreadable`, `file/not-permitted`.
 */
export async function setSetting(
  setting: Setting,
  values: readonly string[],
  folder: string | undefined,
): Promise<SettingRefused | undefined> {
  const { name, kind, what, values: choices } = setting;
  const [first = '', ...others] = values;
  if (others.length > 0 && kind !== 'paths')
    return { because: `${name} takes one value.`, todo: 'Put it in quotation marks if it has spaces.' };
  const isPath = kind === 'path' || kind === 'paths';
  const cut = isPath && folder === undefined ? values.find((path) => !isAbsolute(path)) : undefined;
  if (cut !== undefined)
    return {
      because: `${name}: ${cut} is no whole path.`,
      todo: `Write it from its beginning, such as ${process.platform === 'win32' ? 'D:\\desk' : '/srv/desk'}.`,
    };
  const value = isPath ? values.map((path) => resolve(folder ?? '', path)).join(delimiter) : first;
  const because = objectionToSetting(setting, value) ?? (await missing(setting, value));
  if (because !== undefined)
    return { because, todo: choices ? `Say one of: ${choices.join(', ')}.` : `It is for: ${what}.` };
  await writeSettings({ ...readSettings(), [name]: value });
  return undefined;
}

/** Takes one back, and says whether it was set. Throws `file/unreadable`, `file/not-permitted`. */
export async function unsetSetting({ name }: Setting): Promise<boolean> {
  const { [name]: had, ...others } = readSettings();
  await writeSettings(others);
  return had !== undefined;
}

/** A shelf is made when the first package comes; all else must be there. */
async function missing({ kind, name }: Setting, value: string): Promise<string | undefined> {
  if (kind !== 'paths') return undefined;
  for (const path of value.split(delimiter))
    if ((await stat(path).catch(() => undefined)) === undefined) return `${name}: there is no ${path}.`;
  return undefined;
}
