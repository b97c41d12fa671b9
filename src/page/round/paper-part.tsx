import { computed, signal } from '@preact/signals';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { Findings } from '../sheet/findings.tsx';
import { Part } from '../sheet/part.tsx';
import { attempt, desk } from '../state.ts';
import { ask, askBytes } from '../talk.ts';
import { round } from './round-state.ts';

const chosen = signal<'a5' | 'a6' | undefined>(undefined);
const size = computed(() => chosen.value ?? desk.value?.paper ?? 'a5');
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
  saveAs(`${name}-done.csv`, bytes);
}

/** Hands a file to the browser, which asks where it goes or has its folder. */
function saveAs(name: string, bytes: Blob): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(bytes);
  link.download = name;
  link.click();
  URL.revokeObjectURL(link.href);
}

const carrier = signal('');
const ofSticks = signal('');
const pocketSaid = signal<ReportDocument['findings']>([]);

async function savePocket(): Promise<void> {
  const sticks = (ofSticks.value.match(/\d+/g) ?? []).map(Number);
  const who = carrier.value.trim() || (desk.value?.who ?? '');
  const made = await attempt(() =>
    ask<{ name: string; html: string; findings: ReportDocument['findings'] }>('POST', '/api/round/paper/pocket', {
      who,
      sticks,
    }),
  );
  if (made === undefined) return;
  pocketSaid.value = made.findings;
  saveAs(made.name, new Blob([made.html], { type: 'text/html' }));
}

/** One file for the phone of whoever walks: it needs no network, and what is noted in it comes back under Results. */
const ForPhone = () => (
  <Part number={2} title="For a phone">
    <p>
      One file with the rooms in walking order, all that their cards say, and a place to note what was done. It needs no
      network. What is noted in it comes back under Results.
    </p>
    <div class="for-phone">
      <label>
        Whose phone it is for
        <input
          type="text"
          value={carrier.value}
          placeholder={desk.value?.who}
          autocomplete="off"
          onInput={({ currentTarget }) => {
            carrier.value = currentTarget.value;
          }}
        />
      </label>
      <label>
        Only the rooms of these sticks of the plan, such as 1, 2 (empty: all rooms)
        <input
          type="text"
          inputMode="numeric"
          value={ofSticks.value}
          autocomplete="off"
          onInput={({ currentTarget }) => {
            ofSticks.value = currentTarget.value;
          }}
        />
      </label>
    </div>
    <p class="buttons">
      <button type="button" class="next" onClick={() => void savePocket()}>
        Save the file for the phone
      </button>
    </p>
    <Findings findings={pocketSaid.value} />
  </Part>
);

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
                  chosen.value = one;
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
      <ForPhone />
      <Part number={3} title="To give back">
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
