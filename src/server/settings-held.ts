import { delimiter } from 'node:path';
import { exitCodeOf } from '../core/model/exit-codes.ts';
import { seeSettings, settings } from '../core/model/settings.ts';
import { hasCode } from '../core/model/tool-error.ts';
import type { ReportDocument } from '../core/report/report-schema.ts';
import type { DeskSeen, SettingsSeen } from '../core/report/window-talk.ts';
import { applySettings, environmentBefore, readSettings, settingsPath } from '../io/files/settings-file.ts';
import { settingsDocument } from '../render/json/stick-documents.ts';
import { zoneOfDesk } from '../render/zone.ts';
import type { DeskWords } from './desk-parts.ts';

/** By the variable of each setting what holds; undefined where nobody says anything. */
export type SettingsHeld = Readonly<Record<string, string | undefined>>;

export const settingsHeld = (): SettingsHeld =>
  Object.fromEntries(settings.map(({ variable }) => [variable, process.env[variable]]));

/** What a page shows by them. */
export const settingsOfPage = (): Pick<DeskSeen, 'paper' | 'zone'> => ({
  paper: process.env.STICKWRIGHT_PAPER === 'a6' ? 'a6' : 'a5',
  zone: zoneOfDesk(),
});

/** Has them hold in this process. */
export function holdSettings(held: SettingsHeld): void {
  for (const [variable, value] of Object.entries(held))
    if (value === undefined) delete process.env[variable];
    else process.env[variable] = value;
}

/** The words that the desk was opened with, as the variables of the settings that they beat. */
export const wordsAsVariables = ({ families, shelf, who }: DeskWords): Readonly<Record<string, string>> => ({
  ...(families.length === 0 ? {} : { STICKWRIGHT_FAMILIES: families.join(delimiter) }),
  ...(shelf === undefined ? {} : { STICKWRIGHT_SHELF: shelf }),
  ...(who === undefined ? {} : { STICKWRIGHT_WHO: who }),
});

/** Every setting as it is at a desk that was opened with WORDS. Throws `file/unreadable`, `file/not-permitted`. */
export function settingsSeen(words: DeskWords): SettingsSeen {
  const kept = readSettings();
  const byWord = wordsAsVariables(words);
  const seen = seeSettings(kept, { ...environmentBefore(process.env), ...byWord });
  const document: ReportDocument = {
    ...settingsDocument(settingsPath(), seen, exitCodeOf('ready')),
    kept,
    byWord: settings.filter(({ variable }) => Object.hasOwn(byWord, variable)).map(({ name }) => name),
    between: delimiter,
  };
  return document as SettingsSeen;
}

/**
 * Has what the file says hold from now on, and answers whether anything is another. Where it says what cannot be used,
 * or cannot be read, all stays as it was: a rule that is misspelt is not taken for none.
 */
export function takeSettings(): boolean {
  const before = JSON.stringify(settingsHeld());
  try {
    const seen = seeSettings(readSettings(), environmentBefore(process.env));
    if (seen.every(({ from, objection }) => from !== 'file' || objection === undefined)) applySettings(process.env);
  } catch (error) {
    if (!hasCode(error, 'file/unreadable', 'file/not-permitted')) throw error;
  }
  return JSON.stringify(settingsHeld()) !== before;
}
