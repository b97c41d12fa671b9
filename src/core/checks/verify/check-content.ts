import { type Finding, finding } from '../../findings/finding.ts';
import { rootOf, toolFolder } from '../../manifest/stick-names.ts';
import type { ManifestFile } from '../../model/manifest.ts';

/**
 * What was read of the files that are there in their size: those that are not as the manifest says, and where all came
 * from.
 */
export interface ContentFacts {
  readonly differing: readonly DifferingFile[];
  /** Something was read out of the computer's memory. */
  readonly fromCache: boolean;
  /** The person says that the stick was out since it was written. */
  readonly replugged: boolean;
}

export interface DifferingFile {
  readonly file: ManifestFile;
  /** `gone`: it was listed a moment ago; that it went, or became something else, is no fault of the medium. */
  readonly seen:
    | { readonly state: 'other'; readonly sha256: string }
    | { readonly state: 'unreadable'; readonly problem: string }
    | { readonly state: 'gone' };
}

/** Whether every file holds what the manifest says. Undefined: only names and sizes were asked for. */
export function checkStickContent(target: string, content: ContentFacts | undefined): readonly Finding[] {
  if (content === undefined) return [finding('verify/content-not-read', target)];
  const { differing, fromCache, replugged } = content;
  return [
    ...differing.map(checkDiffering),
    ...(fromCache ? [finding(replugged ? 'verify/replugged' : 'verify/read-from-cache', target)] : []),
  ];
}

function checkDiffering({ file: { path, bytes, sha256 }, seen }: DifferingFile): Finding {
  switch (seen.state) {
    case 'unreadable':
      return finding('verify/unreadable', path, { problem: seen.problem });
    case 'gone':
      return finding('verify/missing', path, { bytes });
    case 'other':
      return rootOf(path) === toolFolder
        ? finding('verify/record-changed', path, { got: 'content' })
        : finding('verify/changed', path, { what: 'content', expected: sha256, got: seen.sha256 });
  }
}
