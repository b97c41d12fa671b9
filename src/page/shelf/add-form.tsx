import { signal } from '@preact/signals';
import type { SignerSaid } from '../../core/guide/slip.ts';
import {
  largestPackageBytes,
  noteProblem,
  packageNameProblem,
  sourceProblem,
} from '../../core/shelf/newcomer-rules.ts';
import type { PublishedSaid } from '../../core/text/published.ts';
import { roundedSize } from '../../core/text/words.ts';
import { Words } from '../sheet/marks.tsx';
import { type Origin, Published, publishedProblem } from '../sheet/published.tsx';
import { attempt, slip } from '../state.ts';
import { handOver } from '../talk.ts';

/** Files that somebody dropped or chose, before it is said where they are from. */
const waiting = signal<readonly File[]>([]);
const from = signal('');
const note = signal('');
const published = signal<PublishedSaid>({});
const signers = signal<readonly SignerSaid[]>([]);

/** What the maker publishes of the packages that are waiting. */
export const newcomerOrigin = (): Origin => ({
  published: published.value,
  say: (more) => (published.value = { ...published.value, ...more }),
  signers: signers.value,
  trust: (trusted) => (signers.value = trusted),
});

export const waitingNames = (): readonly string[] => waiting.value.map(({ name }) => name);

export const layOnShelf = (files: readonly File[]): void => {
  waiting.value = [...waiting.value, ...files];
};

/** Why the shelf would not take it, before any of it goes over. */
const problemOf = ({ name, size }: File): string | undefined => {
  const problem = packageNameProblem(name);
  if (problem !== undefined) return `no stick can carry that name: ${problem}`;
  return size > largestPackageBytes ? `it is larger than ${roundedSize(largestPackageBytes)}` : undefined;
};

/** What is said of a package beside its bytes. */
interface Said {
  readonly from?: string;
  readonly note?: string;
  readonly published: PublishedSaid;
  readonly signers: readonly SignerSaid[];
  /** Codes of stops, each with the reason why it is accepted. */
  readonly accepted?: Readonly<Record<string, string>>;
  /** False: it is looked into, and gone afterwards. */
  readonly keep?: boolean;
  readonly label?: string;
}

/** The last of each name that went over, to be sent once more where a stop of it is accepted. */
const sent = new Map<string, { readonly file: File; readonly said: Said }>();

/** Hands a package over; resolves when all of it came. What is found in it is told as work. */
const addPackage = async (file: File, said: Said): Promise<void> => {
  sent.set(file.name, { file, said });
  await handOver('/api/shelf', file, said);
};

/** Whether this window still has the file of that name. */
export const canAddAgain = (name: string): boolean => sent.has(name);

/** The same once more, with reasons for what stopped it. */
export const addAgain = async (name: string, accepted: Readonly<Record<string, string>>): Promise<void> => {
  const one = sent.get(name);
  if (one !== undefined) await addPackage(one.file, { ...one.said, accepted });
};

/** A package is dropped or chosen; where it is from is asked, because nobody remembers it a year later. */
export function AddForm() {
  const trouble = from.value.trim() === '' ? undefined : sourceProblem(from.value.trim());
  const long = noteProblem(note.value);
  const isWrong = publishedProblem(published.value, waitingNames()) !== undefined;
  const { label } = slip.value;
  const send = async (more: Pick<Said, 'keep' | 'label'>): Promise<void> => {
    const files = waiting.value.filter((file) => problemOf(file) === undefined);
    const said = {
      ...(from.value.trim() === '' ? {} : { from: from.value.trim() }),
      ...(note.value.trim() === '' ? {} : { note: note.value }),
      published: published.value,
      signers: signers.value,
      ...more,
    };
    waiting.value = [];
    from.value = '';
    note.value = '';
    published.value = {};
    signers.value = [];
    for (const file of files) await attempt(() => addPackage(file, said));
  };
  return (
    <form
      class="add-form"
      onSubmit={(event) => {
        event.preventDefault();
        void send({});
      }}
      aria-label="Add packages"
    >
      <label class="drop-place">
        <b>Drop a package anywhere on this page</b>, or choose its file
        <input
          type="file"
          multiple
          accept=".zip"
          onChange={({ currentTarget }) => {
            layOnShelf([...(currentTarget.files ?? [])]);
            currentTarget.value = '';
          }}
        />
      </label>
      {waiting.value.length === 0 ? null : (
        <>
          <ul class="waiting">
            {waiting.value.map((file, at) => (
              <li key={`${file.name} ${at}`}>
                <Words>{file.name}</Words>, {roundedSize(file.size)}
                {problemOf(file) === undefined ? '' : `: not taken, ${problemOf(file)}`}{' '}
                <button
                  type="button"
                  aria-label={`Take it away: ${file.name}`}
                  onClick={() => {
                    waiting.value = waiting.value.filter((one) => one !== file);
                  }}
                >
                  Take it away
                </button>
              </li>
            ))}
          </ul>
          <label>
            The address that it was downloaded from (kept as text, never opened)
            <input
              type="text"
              value={from.value}
              autocomplete="off"
              spellcheck={false}
              onInput={({ currentTarget }) => {
                from.value = currentTarget.value;
              }}
            />
          </label>
          {trouble === undefined ? null : <p role="status">The address {trouble}.</p>}
          <label>
            The maker's release note, or what you know of it
            <textarea
              rows={3}
              value={note.value}
              onInput={({ currentTarget }) => {
                note.value = currentTarget.value;
              }}
            />
          </label>
          {long === undefined ? null : <p role="status">{long}</p>}
          <Published origin={newcomerOrigin()} names={waitingNames()} />
          <button type="submit" class="next" disabled={trouble !== undefined || long !== undefined || isWrong}>
            Read it and put it on the shelf
          </button>{' '}
          <button
            type="button"
            disabled={isWrong}
            onClick={() => void send({ keep: false, ...(label.isSure ? { label: label.reading.normalised } : {}) })}
          >
            Only look into it
          </button>{' '}
          <span class="quiet">
            Nothing of it is kept then{label.isSure ? '; it is compared with the label on the slip' : ''}.
          </span>
        </>
      )}
    </form>
  );
}
