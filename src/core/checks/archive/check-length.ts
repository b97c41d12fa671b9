import { type Finding, finding } from '../../findings/finding.ts';
import type { ArchiveFacts } from '../../model/archive-facts.ts';

/** The file has the length that a person copied from the maker's page. */
export function checkLength(
  { fileName, bytes }: Pick<ArchiveFacts, 'fileName' | 'bytes'>,
  expectedBytes: number | undefined,
): readonly Finding[] {
  if (expectedBytes === undefined || expectedBytes === bytes) return [];
  return [finding('archive/length-differs', fileName, { fileBytes: bytes, expectedBytes })];
}
