import type { Finding } from '../../findings/finding.ts';
import type { ArchiveFacts } from '../../model/archive-facts.ts';
import { checkMadeOnMac } from './check-made-on-mac.ts';
import { checkFileName } from './check-name.ts';
import { checkNestedFolder, checkWrapper, type WrapperUse } from './check-nesting.ts';

/** What the chosen mode, and the family where there is one, have to do with the archive's shape; no mode where none was chosen yet. */
export type ArchiveUse = WrapperUse;

/** The archive's name and shape against the use that is made of it; sizes depend on the stick and are checked apart. */
export function checkArchiveFacts(facts: ArchiveFacts, use: ArchiveUse): readonly Finding[] {
  const wrapper = checkWrapper(facts, use);
  const wanted = facts.entries.some(({ name, folder }) => !folder && use.wantedAtRoot(name));
  return [
    ...checkFileName(facts),
    ...(wrapper.length > 0 ? [] : checkNestedFolder(facts, use.mode, wanted)),
    ...checkMadeOnMac(facts, use.mode, use.wantedAtRoot),
    ...wrapper,
  ];
}
