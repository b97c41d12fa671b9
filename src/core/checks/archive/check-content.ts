import type { ContentOutcome } from '../../archive-format/reading-facts.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { ArchiveEntry } from '../../model/archive-facts.ts';

const hex = (crc: number): string => crc.toString(16).padStart(8, '0');

/** Compares what an entry turned out to be with what the directory states. */
export function checkContent(entry: ArchiveEntry, outcome: ContentOutcome): readonly Finding[] {
  const place = { offset: entry.headerOffset };
  switch (outcome.problem) {
    case 'not-deflate':
      return [finding('archive/content-unreadable', entry.name, { ...place, afterBytes: outcome.bytes })];
    case 'ends-early':
      return [
        finding('archive/content-ends-early', entry.name, {
          ...place,
          statedBytes: entry.bytes,
          readBytes: outcome.bytes,
        }),
      ];
    case 'too-long':
      return [finding('archive/content-too-long', entry.name, { ...place, statedBytes: entry.bytes })];
    case undefined:
      return checkWhole(entry, outcome);
  }
}

function checkWhole(entry: ArchiveEntry, outcome: ContentOutcome): readonly Finding[] {
  const place = { offset: entry.headerOffset };
  const found: Finding[] = [];
  if (outcome.bytes !== entry.bytes) {
    const sizes = { statedBytes: entry.bytes, readBytes: outcome.bytes };
    found.push(finding('archive/content-ends-early', entry.name, { ...place, ...sizes }));
  } else if (outcome.crc32 !== entry.crc32) {
    const sums = { stated: hex(entry.crc32), computed: hex(outcome.crc32) };
    found.push(finding('archive/content-damaged', entry.name, { ...place, ...sums }));
  }
  if (outcome.unusedBytes !== 0) {
    found.push(finding('archive/content-trailed', entry.name, { ...place, unusedBytes: outcome.unusedBytes }));
  }
  return found;
}
