import { ToolError } from '../../core/model/tool-error.ts';

/** Letters, digits and signs that a short name may hold, and spaces (FAT specification, "Short Directory Entries"). */
const allowed = /^[A-Z0-9!#$%&'()\-@^_`{}~][A-Z0-9!#$%&'()\-@^_`{}~ ]{0,10}$/;

/** The label as FAT stores it, in upper case. Throws ToolError `stick/refused` for one that readers would disagree on. */
export function checkVolumeLabel(label: string | undefined): string | undefined {
  const upper = label?.trimEnd().toUpperCase();
  if (upper === undefined || upper === '' || upper === 'NO NAME') return undefined;
  if (allowed.test(upper)) return upper;
  throw new ToolError(
    'stick/refused',
    label ?? '',
    `"${label}" cannot be the name of a FAT volume`,
    'Take at most 11 letters, digits, spaces or dashes, without accents.',
  );
}
