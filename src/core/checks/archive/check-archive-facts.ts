import type { Finding } from '../../findings/finding.ts';
import type { ArchiveFacts } from '../../model/archive-facts.ts';
import type { Mode } from '../../model/mode.ts';
import { checkFileName } from './check-file-name.ts';
import { checkMadeOnMac } from './check-made-on-mac.ts';
import { checkNestedFolder } from './check-nested-folder.ts';
import { checkWrapper } from './check-wrapper.ts';

/** What the chosen mode, and the family where there is one, have to do with the archive's shape. */
export interface ArchiveUse {
  /** undefined where none was chosen yet. */
  readonly mode: Mode | undefined;
  /** Whether the family's rules for the mode want this path, relative to the stick's root. */
  readonly wantedAtRoot: (path: string) => boolean;
}

/** The archive's name and shape against the use that is made of it; sizes depend on the stick and are checked apart. */
export function checkArchiveFacts(facts: ArchiveFacts, use: ArchiveUse): readonly Finding[] {
  const wanted = facts.entries.some(({ name, folder }) => !folder && use.wantedAtRoot(name));
  return [
    ...checkFileName(facts),
    ...checkNestedFolder(facts, use.mode, wanted),
    ...checkMadeOnMac(facts, use.mode, use.wantedAtRoot),
    ...checkWrapper(facts, use.mode, use.wantedAtRoot),
  ];
}
