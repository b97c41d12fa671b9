import { signal } from '@preact/signals';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { RoomProgress } from '../../core/rounds/records/round-status.ts';
import { countInWords } from '../../core/text/words.ts';
import { Findings } from '../sheet/findings.tsx';
import { Words } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { Camera } from './camera.tsx';
import { Drop } from './drop.tsx';
import { type LadderDocument, pick, RecordForm } from './record-form.tsx';
import { RoomCard } from './room-card.tsx';
import { RoomRoll } from './room-roll.tsx';
import { chosenRoom, lookAtRound, progressWords, roomsNow, round, status } from './round-state.ts';

const typed = signal('');
const answer = signal<LadderDocument | undefined>(undefined);
const wanted = signal<RoomProgress | 'left' | ''>('left');

/** Looks for the room of a card's code, or of what somebody typed. */
async function find(said: string): Promise<void> {
  if (said.trim() === '') return;
  const found = await attempt(() => ask<LadderDocument>('POST', '/api/round/record/room', { said }));
  if (found === undefined) return;
  answer.value = found;
  if (found.room === null) return;
  chosenRoom.value = found.room.room;
  pick(found.room.room, said);
  typed.value = '';
}

/** What was done: a card's code scanned, a room picked, how it went; and what others noted. */
export function ResultsPart() {
  if (round.value?.plan === undefined) return <p>No plan was made yet. Begin with the list.</p>;
  const room = chosenRoom.value;
  return (
    <div>
      <Part number={1} title="Which room">
        <form
          class="scan"
          onSubmit={(event) => {
            event.preventDefault();
            void find(typed.value);
          }}
        >
          <label>
            Scan a card, or type a room, an asset tag or a serial
            <input
              type="text"
              name="scanned"
              class="plate"
              autocomplete="off"
              spellcheck={false}
              value={typed.value}
              onInput={({ currentTarget }) => {
                typed.value = currentTarget.value;
              }}
            />
          </label>
          <button type="submit">Find it</button>
          <Camera heard={(said) => void find(said)} />
        </form>
        {answer.value?.room === null ? <Findings findings={answer.value.findings} /> : null}
        <Rooms />
      </Part>
      {room === undefined ? null : (
        <Part number={2} title="How it went">
          <RecordForm
            key={room}
            room={room}
            done={() => document.querySelector<HTMLInputElement>('.scan input')?.focus()}
          />
        </Part>
      )}
      <Part number={3} title="What others noted">
        <Merge />
      </Part>
    </div>
  );
}

const isDone = (progress: RoomProgress): boolean => progress === 'done' || progress === 'up-to-date';

function Rooms() {
  const { plan } = round.value ?? {};
  if (plan === undefined) return null;
  const shown = plan.rooms.filter(({ key }) => {
    const progress = roomsNow.value.get(key)?.progress ?? 'open';
    return wanted.value === '' || (wanted.value === 'left' ? !isDone(progress) : progress === wanted.value);
  });
  return (
    <>
      <div class="filters">
        <label>
          Show
          <select
            value={wanted.value}
            onChange={({ currentTarget }) => {
              wanted.value = currentTarget.value as typeof wanted.value;
            }}
          >
            <option value="left">what is not done</option>
            <option value="">all rooms</option>
            {(Object.keys(progressWords) as RoomProgress[]).map((one) => (
              <option key={one} value={one}>
                {progressWords[one]}: {status.value?.counts[one] ?? 0}
              </option>
            ))}
          </select>
        </label>
      </div>
      <div class="roll-and-card">
        <RoomRoll rooms={shown} of={plan.rooms.length} />
        <RoomCard />
      </div>
    </>
  );
}

interface MergeDocument extends ReportDocument {
  readonly merged?: readonly { readonly from: string; readonly added: number; readonly known: number }[];
  readonly recorded?: readonly unknown[];
}

const taken = signal<readonly { readonly name: string; readonly document: MergeDocument }[]>([]);
const pasted = signal('');

async function takeIn(files: readonly { readonly name: string; readonly bytes: Blob }[]): Promise<void> {
  const answers: { name: string; document: MergeDocument }[] = [];
  for (const { name, bytes } of files) {
    const path = `/api/round/record/merge?name=${encodeURIComponent(name)}`;
    const document = await attempt(() => ask<MergeDocument>('POST', path, bytes));
    if (document !== undefined) answers.push({ name, document });
  }
  taken.value = answers;
  await lookAtRound();
}

/** Records of others, a filled list, or what a phone gives as text: in any order, as often as they come. */
function Merge() {
  return (
    <>
      <Drop
        words="Drop records of others or filled lists here"
        accept=".jsonl,.json,.txt,.csv,.tsv,.xlsx"
        several
        take={(files) => takeIn(files.map((file) => ({ name: file.name, bytes: file })))}
      />
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void takeIn([{ name: 'pasted.txt', bytes: new Blob([pasted.value]) }]).then(() => {
            pasted.value = '';
          });
        }}
      >
        <label>
          Or paste the text that they sent
          <textarea
            rows={3}
            value={pasted.value}
            onInput={({ currentTarget }) => {
              pasted.value = currentTarget.value;
            }}
          />
        </label>
        <p>
          <button type="submit" disabled={pasted.value.trim() === ''}>
            Take it in
          </button>
        </p>
      </form>
      <div role="status">
        {taken.value.map(({ name, document }) => (
          <div key={name}>
            <p>
              <b>
                <Words>{name}</Words>
              </b>
              : {inWords(document)}
            </p>
            <Findings findings={document.findings.filter(({ severity }) => severity !== 'note')} />
          </div>
        ))}
      </div>
    </>
  );
}

function inWords({ merged, recorded = [] }: MergeDocument): string {
  if (merged === undefined) return `${countInWords(recorded.length, 'row')} noted.`;
  const added = merged.reduce((sum, one) => sum + one.added, 0);
  const known = merged.reduce((sum, one) => sum + one.known, 0);
  return `${countInWords(added, 'line')} taken in, ${known.toLocaleString('en-US')} known already.`;
}
