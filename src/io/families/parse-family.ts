import { createHash } from 'node:crypto';
import { LineCounter, parseDocument } from 'yaml';
import { checkFamilyProblem } from '../../core/checks/fit/check-families.ts';
import { findFamilyProblems } from '../../core/checks/fit/find-family-problems.ts';
import { type Finding, finding } from '../../core/findings/finding.ts';
import { type Family, familySchema } from '../../core/model/family.ts';
import { explainShape, locateInYaml, type ParsedYaml } from './explain-shape.ts';

export interface ParsedFamily {
  /** Undefined where a finding stops it. */
  readonly family: Family | undefined;
  readonly findings: readonly Finding[];
}

/** Family files are some kilobytes; a larger one is something else. */
export const largestFamilyBytes = 200_000;

/** Reads one family file's bytes: YAML, shape, patterns, examples; every problem with file, line and column. */
export function parseFamily(source: string, bytes: Uint8Array): ParsedFamily {
  const stop = (line: number, column: number, what: string): ParsedFamily => ({
    family: undefined,
    findings: [finding('family/not-yaml', `${source}:${line}:${column}`, { what })],
  });
  if (bytes.length > largestFamilyBytes) {
    return stop(1, 1, `the file has more than ${largestFamilyBytes} bytes; is it a family file at all?`);
  }
  const text = decode(bytes);
  if (text === undefined) return stop(1, 1, 'the file is not UTF-8 text');
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false });
  if (document.errors.length > 0) {
    const findings = document.errors.map((error) => {
      const { line, col } = lines.linePos(error.pos[0]);
      return finding('family/not-yaml', `${source}:${line}:${col}`, { what: error.message });
    });
    return { family: undefined, findings };
  }
  const value = toValue(() => document.toJS());
  if ('failed' in value) return stop(1, 1, value.failed);
  return checkContent(source, bytes, { source: text, document, lines }, value.value);
}

function checkContent(source: string, bytes: Uint8Array, yaml: ParsedYaml, value: unknown): ParsedFamily {
  const parsed = familySchema.safeParse(value, { reportInput: true });
  if (!parsed.success) {
    const findings = explainShape(yaml, parsed.error.issues).map(({ place, key, what, todo }) =>
      finding('family/wrong-shape', `${source}:${place.line}:${place.column}`, { key, what, todo }),
    );
    return { family: undefined, findings };
  }
  const findings = findFamilyProblems(parsed.data).map((problem) => {
    const offset = problem.kind === 'pattern' ? problem.offset : 0;
    const { line, column } = locateInYaml(yaml, problem.path, offset);
    return checkFamilyProblem(problem, `${source}:${line}:${column}`);
  });
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  return { family: findings.length > 0 ? undefined : { ...parsed.data, source, sha256 }, findings };
}

function decode(bytes: Uint8Array): string | undefined {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return undefined;
  }
}

/** Building the value can fail where parsing did not: an alias to nothing, aliases that multiply without end. */
function toValue(build: () => unknown): { value: unknown } | { failed: string } {
  try {
    return { value: build() };
  } catch (cause) {
    return { failed: cause instanceof Error ? cause.message : String(cause) };
  }
}
