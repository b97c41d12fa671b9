import type { Room } from '../../model/room.ts';
import { forComparing } from './compare-panels.ts';
import type { PanelRow } from './read-row.ts';

/**
 * Gives each panel its key. A room that the list names once is its own key. Where it is named more often, also by a row that is
 * left out, the asset tag stands behind it, else the serial number, else the label: so the key does not change when the
 * bad row is mended. `namedRooms` are the rooms of all rows.
 */
export function nameRooms(panels: readonly PanelRow[], namedRooms: readonly string[]): readonly Room[] {
  const times = new Map<string, number>();
  for (const room of namedRooms) times.set(forComparing(room), (times.get(forComparing(room)) ?? 0) + 1);
  const taken = new Set<string>();
  return panels.map((panel) => {
    const alone = (times.get(forComparing(panel.room)) ?? 0) < 2;
    const key = alone ? panel.room : `${panel.room} · ${panel.asset ?? panel.serial ?? panel.label}`;
    const unique = firstFree(key, panel, taken);
    taken.add(forComparing(unique));
    return { key: unique, ...panel };
  });
}

/** A room may be called as another panel's key; then both its numbers, and at last its row, tell it apart. */
function firstFree(key: string, panel: PanelRow, taken: ReadonlySet<string>): string {
  const numbers = [panel.asset, panel.serial].filter((number) => number !== undefined);
  const choices = [key, [panel.room, ...numbers, panel.label].join(' · '), `${key} · row ${panel.row}`];
  return choices.find((choice) => !taken.has(forComparing(choice))) ?? `${key} · ${panel.row}`;
}
