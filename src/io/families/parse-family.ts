import { createHash } from 'node:crypto';
import { LineCounter, parseDocument } from 'yaml';
import type { FamilyFile } from '../../core/checks/fit/check-families.ts';
import { familySchema } from '../../core/model/family.ts';
import { explainShape, locateInYaml, type ParsedYaml } from './explain-shape.ts';

/** Family files are some kilobytes; a larger one is something else. */
export const largestFamilyBytes = 200_000;

/** Reads one family file's bytes: YAML and shape; every fault with line and column. */
export function parseFamily(source: string, bytes: Uint8Array): FamilyFile {
  const stop = (what: string): FamilyFile => notYaml(source, [{ line: 1, column: 1, what }]);
  if (bytes.length > largestFamilyBytes) {
    return stop(`the file has more than ${largestFamilyBytes} bytes; is it a family file at all?`);
  }
  const text = decode(bytes);
  if (text === undefined) return stop('the file is not UTF-8 text');
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false });
  if (document.errors.length > 0) {
    const faults = document.errors.map((error) => {
      const { line, col: column } = lines.linePos(error.pos[0]);
      return { line, column, what: error.message };
    });
    return notYaml(source, faults);
  }
  const value = toValue(() => document.toJS());
  if ('failed' in value) return stop(value.failed);
  const yaml: ParsedYaml = { source: text, document, lines };
  const parsed = familySchema.safeParse(value.value, { reportInput: true });
  if (!parsed.success) {
    return { source, content: { state: 'wrong-shape', faults: explainShape(yaml, parsed.error.issues) } };
  }
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  const placeOf = (path: readonly (string | number)[], offset: number) => locateInYaml(yaml, path, offset);
  const lineOf = (path: readonly (string | number)[]): number => placeOf(path, 0).line;
  const patterns = {
    label: lineOf(['label', 'pattern']),
    packages: parsed.data.packages.map((_, at) => lineOf(['packages', at, 'pattern'])),
  };
  const family = { ...parsed.data, source, sha256, lines: patterns };
  return { source, content: { state: 'read', family, placeOf } };
}

type NotYaml = Extract<FamilyFile['content'], { state: 'not-yaml' }>;

const notYaml = (source: string, faults: NotYaml['faults']): FamilyFile => ({
  source,
  content: { state: 'not-yaml', faults },
});

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

/** The file's text with another value at PATH, everything else as it stands: comments, order, spaces. */
export function withValueAt(text: string, path: readonly (string | number)[], value: string): string | undefined {
  const node = parseDocument(text).getIn(path, true) as
    | { readonly range?: readonly [number, number, number] }
    | undefined;
  if (node?.range === undefined) return undefined;
  return text.slice(0, node.range[0]) + value + text.slice(node.range[1]);
}
