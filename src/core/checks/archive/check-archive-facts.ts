import { mostCentralRecords } from '../../archive-format/read-central-directory.ts';
import type { DirectoryFacts, PassFact } from '../../archive-format/reading-facts.ts';
import { type Finding, fewAlike, finding } from '../../findings/finding.ts';
import type { ArchiveEntry, ArchiveFacts } from '../../model/archive-facts.ts';
import { checkContent } from './check-content.ts';
import { checkDirectory } from './check-directory.ts';
import { checkGap } from './check-gap.ts';
import { checkLocalHeader } from './check-local-header.ts';
import { checkMadeOnMac } from './check-made-on-mac.ts';
import { checkFileName } from './check-name.ts';
import { checkNestedFolder, checkNesting, checkWrapper, type WrapperUse } from './check-nesting.ts';
import { checkForeignEnd, checkObjection, checkReaders, checkWithoutDirectory } from './check-without-directory.ts';

/** Everything that end records and directory show, and what a file without them is. */
export const checkDirectoryFacts = (facts: DirectoryFacts): readonly Finding[] => fewAlike(ofDirectory(facts));

function ofDirectory(facts: DirectoryFacts): readonly Finding[] {
  switch (facts.kind) {
    case 'no-end-record':
      return checkWithoutDirectory(facts.head, facts.last, facts.fileBytes, facts.reach);
    case 'directory-too-large':
      return [finding('archive/directory-too-large', '', { directoryBytes: facts.directoryBytes })];
    case 'too-many-entries':
      return [
        finding('archive/too-many-entries', '', { statedEntries: facts.statedEntries, most: mostCentralRecords }),
      ];
    case 'archive': {
      const { shape, library, reach } = facts;
      const found = [
        ...checkDirectory(shape),
        ...checkReaders(library.differs),
        ...checkForeignEnd(shape.fileBytes, reach),
      ];
      return [...found, ...checkObjection(library.objection, found)];
    }
  }
}

/**
 * Hears what a pass over the file shows and judges each piece at once: of thousands of headers nothing is kept but what
 * is to be said of them.
 */
export function judgePass(): { seen(fact: PassFact): void; findings(): readonly Finding[] } {
  const found: (readonly Finding[])[] = [];
  return {
    seen: (fact) => {
      const said = checkPassFact(fact);
      if (said.length > 0) found[fact.place] = said;
    },
    findings: () => fewAlike(found.flat()),
  };
}

function checkPassFact(fact: PassFact): readonly Finding[] {
  switch (fact.kind) {
    case 'local-header':
      return checkLocalHeader(fact.record, fact.offset, fact.local, fact.name);
    case 'content':
      return [
        ...checkContent(fact.entry, fact.outcome),
        ...(fact.nesting === undefined ? [] : checkNesting(fact.entry, fact.nesting)),
      ];
    case 'gap':
      return checkGap(fact.gap, fact.record, fact.local);
    default:
      return checkPlace(fact.kind, fact.entry);
  }
}

/** Where the walk by the directory did not find an entry as it should lie. */
function checkPlace(
  kind: 'header-missing' | 'outside' | 'overlap',
  { name, headerOffset: offset, compressedBytes }: ArchiveEntry,
): readonly Finding[] {
  switch (kind) {
    case 'header-missing':
      return [finding('archive/local-header-missing', name, { offset })];
    case 'outside':
      return [finding('archive/entry-outside', name, { offset, compressedBytes })];
    case 'overlap':
      return [finding('archive/entries-overlap', name, { offset })];
  }
}

/**
 * What the chosen mode, and the family where there is one, have to do with the archive's shape; no mode where none was
 * chosen yet.
 */
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
