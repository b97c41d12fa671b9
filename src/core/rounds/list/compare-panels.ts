import { type Finding, finding } from '../../findings/finding.ts';
import { normaliseLabel, upperForComparing } from '../../label/normalise-label.ts';
import { groupBy } from '../../model/group-by.ts';
import type { PanelRow } from './read-row.ts';

export interface Compared {
  /** The rows that stand, in their order. */
  readonly panels: readonly PanelRow[];
  /** Second copies of rows; they name no further panel. */
  readonly repeated: ReadonlySet<PanelRow>;
  readonly findings: readonly Finding[];
}

/** A room, a label or a number for comparing. */
export const forComparing = (text: string): string => upperForComparing(normaliseLabel(text));

const numberForComparing = (text: string | undefined): string | undefined =>
  text === undefined ? undefined : forComparing(text).replaceAll(' ', '');

/**
 * Rows against each other: the same panel twice, one number on two panels, panels that nothing tells apart. Of rows that
 * contradict each other none stands. PLACE says where a row is.
 */
export function comparePanels(panels: readonly PanelRow[], source: string, place: (row: number) => string): Compared {
  const findings: Finding[] = [];
  const together = (rows: readonly PanelRow[]) => ({
    places: rows.map(({ row }) => place(row)),
    rooms: rows.map(({ room }) => room),
  });
  const subject = (rows: readonly PanelRow[]): string => `${source}:${rows[0]?.row ?? 0}`;

  const twins = severalOf(panels, (one) => (hasNumber(one) ? storyOf(one) : undefined));
  for (const rows of twins) findings.push(finding('room/row-twice', subject(rows), together(rows)));
  const repeated = new Set(twins.flatMap((rows) => rows.slice(1)));
  const single = panels.filter((one) => !repeated.has(one));

  const out = new Set<PanelRow>();
  for (const rows of severalOf(single, ({ serial }) => numberForComparing(serial))) {
    const facts = { ...together(rows), number: rows[0]?.serial ?? '' };
    const inOneRoom = new Set(rows.map(({ room }) => forComparing(room))).size === 1;
    findings.push(
      inOneRoom
        ? finding('room/panel-twice', subject(rows), facts)
        : finding('room/serial-in-two-rooms', subject(rows), facts),
    );
    for (const one of rows) out.add(one);
  }
  for (const rows of severalOf(single, ({ asset }) => numberForComparing(asset))) {
    if (rows.every((one) => out.has(one))) continue;
    findings.push(finding('room/asset-twice', subject(rows), { ...together(rows), number: rows[0]?.asset ?? '' }));
    for (const one of rows) out.add(one);
  }
  const numberless = single.filter((one) => !hasNumber(one));
  for (const rows of severalOf(numberless, ({ room, label }) => `${forComparing(room)}\n${forComparing(label)}`)) {
    findings.push(finding('room/panels-alike', subject(rows), together(rows)));
    for (const one of rows) out.add(one);
  }
  return { panels: single.filter((one) => !out.has(one)), repeated, findings };
}

const hasNumber = ({ serial, asset }: PanelRow): boolean => serial !== undefined || asset !== undefined;

/** Everything that decides what happens to the panel; notes may differ. */
const storyOf = ({ room, label, running, serial, asset, mode, approval }: PanelRow): string =>
  JSON.stringify([
    forComparing(room),
    forComparing(label),
    running === undefined ? null : forComparing(running),
    numberForComparing(serial) ?? null,
    numberForComparing(asset) ?? null,
    mode ?? null,
    approval ?? null,
  ]);

function severalOf(
  panels: readonly PanelRow[],
  keyOf: (panel: PanelRow) => string | undefined,
): readonly (readonly PanelRow[])[] {
  const keyed = panels.filter((one) => keyOf(one) !== undefined);
  return [...groupBy(keyed, (one) => keyOf(one) ?? '').values()].filter((rows) => rows.length > 1);
}
