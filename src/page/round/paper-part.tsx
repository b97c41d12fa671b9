import { signal } from '@preact/signals';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { Findings } from '../sheet/findings.tsx';
import { Part } from '../sheet/part.tsx';
import { attempt } from '../state.ts';
import { ask, askBytes } from '../talk.ts';
import { round } from './round-state.ts';

const size = signal<'a5' | 'a6'>('a5');
const said = signal<ReportDocument['findings']>([]);

type Sheet = 'cards' | 'tags' | 'cover' | 'report';

/** A page of its own to print from; the window is opened by the press, so that nothing blocks it. */
export async function openSheet(what: Sheet, rooms: readonly string[] = []): Promise<void> {
  const sheet = window.open('', '_blank');
  const made = await attempt(() =>
    ask<{ address: string; findings: ReportDocument['findings'] }>('POST', '/api/round/paper', {
      what,
      paper: size.value,
      rooms,
    }),
  );
  if (made === undefined) {
    sheet?.close();
    return;
  }
  said.value = made.findings;
  if (sheet === null) location.assign(made.address);
  else sheet.location.replace(made.address);
}

async function saveList(): Promise<void> {
  const bytes = await attempt(() => askBytes('/api/round/paper/list'));
  if (bytes === undefined) return;
  const { place, rounds } = round.value ?? {};
  const name = rounds?.find((one) => one.place === place)?.name ?? 'round';
  const link = document.createElement('a');
  link.href = URL.createObjectURL(bytes);
  link.download = `${name}-done.csv`;
  link.click();
  URL.revokeObjectURL(link.href);
}

/** What is printed, and what goes back to whose list it is. */
export function PaperPart() {
  if (round.value?.plan === undefined) return <p>No plan was made yet. Begin with the list.</p>;
  return (
    <div>
      <Part number={1} title="To print">
        <p>
          Each opens as a page of its own: print it there, at 100 %. It is black and white, and says what the records
          say now.
        </p>
        <fieldset class="choices sizes">
          <legend>Size of the room cards</legend>
          {(['a5', 'a6'] as const).map((one) => (
            <label key={one}>
              <input
                type="radio"
                name="paper"
                checked={size.value === one}
                onChange={() => {
                  size.value = one;
                }}
              />
              {one.toUpperCase()}
            </label>
          ))}
        </fieldset>
        <p class="buttons">
          <button type="button" class="next" onClick={() => void openSheet('cards')}>
            A card for each room
          </button>
          <button type="button" onClick={() => void openSheet('tags')}>
            A tag for each stick
          </button>
          <button type="button" onClick={() => void openSheet('cover')}>
            The cover
          </button>
        </p>
        <Findings findings={said.value} />
      </Part>
      <Part number={2} title="To give back">
        <p>The list in its own columns and order, each row with what became of it; and a report to print.</p>
        <p class="buttons">
          <button type="button" class="next" onClick={() => void saveList()}>
            Save the filled list
          </button>
          <button type="button" onClick={() => void openSheet('report')}>
            The report
          </button>
        </p>
      </Part>
    </div>
  );
}
