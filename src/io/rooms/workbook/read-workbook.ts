import { posix } from 'node:path';
import { damaged, type Parts, readXml } from './open-parts.ts';

export interface SheetEntry {
  readonly name: string;
  readonly visible: boolean;
  /** Undefined for what is no sheet of cells. */
  readonly part: string | undefined;
}

interface Workbook {
  readonly sheets: readonly SheetEntry[];
  /** Days are counted from 1904 instead of 1900 (ECMA-376 part 1, 18.17.4.1). */
  readonly from1904: boolean;
  readonly sharedStrings: string | undefined;
  readonly styles: string | undefined;
}

/** The workbook's own part: its sheets in their order, and where strings and styles lie (ECMA-376 part 1, 18.2). */
export async function readWorkbook(parts: Parts): Promise<Workbook> {
  const [main] = (await readRelationships(parts, '')).filter(({ type }) => type === 'officeDocument');
  const part = main?.target ?? 'xl/workbook.xml';
  const pieces = parts.open(part);
  if (pieces === undefined) throw damaged(`the part ${part} is missing`);
  const related = await readRelationships(parts, part);
  const listed: { name: string; state: string; id: string }[] = [];
  let from1904 = false;
  await readXml(part, pieces, {
    open: (local, attributes) => {
      if (local === 'workbookPr') from1904 = isTrue(attributes.date1904);
      if (local !== 'sheet') return;
      const { name = '', state = 'visible', id = '' } = attributes;
      listed.push({ name, state, id });
    },
  });
  const target = (wanted: string): string | undefined => related.find(({ type }) => type === wanted)?.target;
  return {
    sheets: listed.map(({ name, state, id }) => {
      const sheet = related.find((one) => one.id === id && one.type === 'worksheet');
      return { name, visible: state === 'visible', part: sheet?.target };
    }),
    from1904,
    sharedStrings: target('sharedStrings'),
    styles: target('styles'),
  };
}

/** An xsd:boolean. */
export const isTrue = (text: string | undefined): boolean => text === '1' || text === 'true';

export interface Relationship {
  readonly id: string;
  /** The last word of its type: `worksheet`, `sharedStrings`, `styles`, `officeDocument`. */
  readonly type: string;
  /** Path of the part in the workbook. */
  readonly target: string;
}

/** What a part refers to (ECMA-376 part 2, 6.5); the empty name stands for the package itself. */
async function readRelationships(parts: Parts, part: string): Promise<readonly Relationship[]> {
  const folder = posix.dirname(part);
  const name = posix.join(folder, '_rels', `${posix.basename(part)}.rels`);
  const pieces = parts.open(name);
  if (pieces === undefined) return [];
  const found: Relationship[] = [];
  await readXml(name, pieces, {
    open: (local, { Id = '', Type = '', Target = '', TargetMode }) => {
      if (local !== 'Relationship' || TargetMode === 'External') return;
      const target = Target.startsWith('/') ? Target.slice(1) : posix.join(folder, Target);
      found.push({ id: Id, type: Type.slice(Type.lastIndexOf('/') + 1), target });
    },
  });
  return found;
}
