import { type Document, isMap, isScalar, type LineCounter, type Node } from 'yaml';

/** A place in a family file, both from 1, as editors count. */
export interface Place {
  readonly line: number;
  readonly column: number;
}

export interface ParsedYaml {
  readonly source: string;
  readonly document: Document;
  readonly lines: LineCounter;
}

type Path = readonly (string | number)[];

/**
 * Where a path of keys lies in the file: the value, or where it is missing the nearest thing around it. `offset` counts
 * characters into a text value, as read, and leads to that character in the file.
 */
export function locateInYaml(yaml: ParsedYaml, path: Path, offset = 0): Place {
  const node = nearestNode(yaml.document, path);
  return placeAt(yaml, (node?.range?.[0] ?? 0) + sourceOffset(yaml.source, node, offset));
}

/** Where a key itself stands: for keys that do not belong there. */
export function locateKey(yaml: ParsedYaml, path: Path, key: string): Place {
  const map = path.length === 0 ? yaml.document.contents : yaml.document.getIn(path, true);
  const pair = isMap(map) ? map.items.find((item) => isScalar(item.key) && String(item.key.value) === key) : undefined;
  const start = isScalar(pair?.key) ? pair.key.range?.[0] : undefined;
  return start === undefined ? locateInYaml(yaml, path) : placeAt(yaml, start);
}

function placeAt({ lines }: ParsedYaml, position: number): Place {
  const { line, col } = lines.linePos(position);
  return { line: Math.max(1, line), column: Math.max(1, col) };
}

function nearestNode(document: Document, path: Path): Node | undefined {
  for (let length = path.length; length > 0; length--) {
    const node = document.getIn(path.slice(0, length), true);
    if (node !== undefined && node !== null) return node as Node;
  }
  return document.contents ?? undefined;
}

/** YAML 1.2.2 section 7.3: in single quotes '' is one character, in double quotes a backslash starts an escape. */
function sourceOffset(source: string, node: Node | undefined, offset: number): number {
  if (offset === 0 || !isScalar(node) || node.range === undefined || node.range === null) return 0;
  if (node.type === 'PLAIN') return offset;
  if (node.type !== 'QUOTE_SINGLE' && node.type !== 'QUOTE_DOUBLE') return 0;
  const twoForOne = node.type === 'QUOTE_SINGLE' ? /''/y : /\\./y;
  let position = node.range[0] + 1;
  for (let read = 0; read < offset; read++) {
    twoForOne.lastIndex = position;
    position += twoForOne.test(source) ? 2 : 1;
  }
  return position - node.range[0];
}
