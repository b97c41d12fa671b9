import { type Finding, finding } from '../../findings/finding.ts';

/** What a file was when it was inspected and put on the shelf. */
export interface RecordedContent {
  readonly sha256: string;
  readonly bytes: number;
}

/** Whether a package that was just read is still what was recorded. */
export function checkRecorded(name: string, recorded: RecordedContent, read: RecordedContent): Finding {
  if (recorded.sha256 === read.sha256) return finding('shelf/as-recorded', name, { sha256: read.sha256 });
  const { sha256: expected, bytes } = recorded;
  return finding('shelf/content-changed', name, { expected, bytes, got: read.sha256, gotBytes: read.bytes });
}
