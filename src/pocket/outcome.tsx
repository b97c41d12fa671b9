import { signal, useSignal } from '@preact/signals';
import type { Finding } from '../core/findings/finding.ts';
import { makeVisit, type SaidOutcome } from '../core/rounds/records/make-visit.ts';
import { type RelateBuilds, recordInWords } from '../core/rounds/records/read-visit.ts';
import type { RoomStatus } from '../core/rounds/records/round-status.ts';
import { addLine, addPhoto, panelKeyOf, panels, pocket, setPanel, status } from './kept.ts';
import { isAcceptable, isStop, Said, Told } from './marks.tsx';
import { localTime, newId, smallPhoto } from './phone.ts';
import { texts } from './texts.ts';

type Kind = 'done' | 'failed' | 'skipped' | 'not-yet';

interface OutcomeProps {
  readonly one: RoomStatus;
  readonly relate: RelateBuilds;
  /** Code of the stick that was checked. */
  readonly stick: string | undefined;
  readonly kinds: readonly Kind[];
  /** Why it is to be skipped, where that is known. */
  readonly why: string;
}

const names: Readonly<Record<Kind, string>> = {
  done: texts.done,
  failed: texts.failed,
  skipped: texts.skipped,
  'not-yet': texts.notYet,
};
const asks: Readonly<Record<Kind, string>> = {
  done: texts.newBuild,
  failed: texts.exactWords,
  skipped: texts.why,
  'not-yet': texts.newBuild,
};

/** What was recorded just now; empty where one has gone on since. */
export const told = signal('');

/** What became of it, judged as the desk judges it, and kept at once. */
export function Outcome({ one, relate, stick, kinds, why }: OutcomeProps) {
  const panel = panelKeyOf(one);
  const { draft } = panels.value[panel] ?? {};
  const kind = useSignal<Kind | undefined>(kinds.find((name) => name === draft?.kind));
  const words = useSignal(kind.value === undefined ? why : (draft?.words ?? why));
  const said = useSignal<readonly Finding[]>([]);
  const because = useSignal('');
  const missing = useSignal('');
  const photo = useSignal<string | undefined>(undefined);

  const outcomeOf = (chosen: Kind, text: string): SaidOutcome =>
    chosen === 'done'
      ? { kind: 'done', build: text }
      : chosen === 'not-yet'
        ? { kind: 'not-yet', build: text === '' ? undefined : text }
        : { kind: chosen, text };

  const record = (chosen: Kind, accepted: string): void => {
    const text = words.value.trim();
    missing.value = '';
    if (text === '' && chosen !== 'not-yet') {
      missing.value = chosen === 'done' ? texts.emptyBuild : texts.emptyWords;
      return;
    }
    const now = localTime();
    const wish = {
      room: one.room.key,
      label: undefined,
      serial: undefined,
      stick: chosen === 'skipped' ? undefined : stick,
      before: undefined,
      wiped: undefined,
      note:
        accepted === ''
          ? undefined
          : said.value
              .filter(isStop)
              .map(({ code }) => `${code} accepted: ${accepted}`)
              .join('\n'),
      outcome: outcomeOf(chosen, text),
      at: now,
      who: pocket.who,
    };
    const made = makeVisit(wish, status.value, relate, { id: newId(), notedAt: now });
    const stops = made.findings.filter(isStop);
    if (
      made.record === undefined ||
      stops.some((found) => !isAcceptable(found)) ||
      (stops.length > 0 && accepted === '')
    ) {
      said.value = made.findings;
      return;
    }
    said.value = made.findings.filter((found) => !isStop(found));
    setPanel(panel, { draft: undefined });
    addLine(made.record);
    const what = texts.recorded(recordInWords(made.record as Parameters<typeof recordInWords>[0]));
    const isKept = photo.value === undefined || addPhoto(made.record.id, photo.value);
    told.value = isKept ? what : `${what} ${texts.photoNotKept}`;
    photo.value = undefined;
    words.value = '';
    because.value = '';
    kind.value = undefined;
    scrollTo(0, 0);
  };

  const takePhoto = async (input: HTMLInputElement): Promise<void> => {
    const [file] = input.files ?? [];
    if (file === undefined) return;
    photo.value = await smallPhoto(file);
    missing.value = photo.value === undefined ? texts.photoNotRead : '';
  };

  const chosen = kind.value;
  const stops = said.value.filter(isStop);
  return (
    <section class="outcome" id="outcome">
      <h2>{texts.outcome}</h2>
      <fieldset class="row">
        <legend class="quiet">{texts.outcome}</legend>
        {kinds.map((one) => (
          <button
            type="button"
            aria-pressed={chosen === one}
            onClick={() => {
              kind.value = one;
              words.value = one === 'skipped' ? why : '';
              said.value = [];
              setPanel(panel, { draft: { kind: one, words: words.value } });
            }}
          >
            {names[one]}
          </button>
        ))}
      </fieldset>
      {chosen !== undefined && (
        <form
          onSubmit={(event) => {
            event.preventDefault();
            record(chosen, '');
          }}
        >
          <label>
            {asks[chosen]}
            <textarea
              class={chosen === 'done' || chosen === 'not-yet' ? 'mono' : ''}
              rows={chosen === 'done' || chosen === 'not-yet' ? 1 : 3}
              maxLength={500}
              value={words.value}
              onInput={(event) => {
                words.value = event.currentTarget.value;
                said.value = [];
                setPanel(panel, { draft: { kind: chosen, words: words.value } });
              }}
              autocomplete="off"
              autocapitalize="off"
              spellcheck={false}
            />
          </label>
          {chosen === 'failed' && (
            <label class="button">
              {photo.value === undefined ? texts.photo : texts.photoTaken}
              <input
                type="file"
                accept="image/*"
                capture="environment"
                class="behind"
                onChange={(event) => void takePhoto(event.currentTarget)}
              />
            </label>
          )}
          <button type="submit" class="main">
            {texts.record}
          </button>
        </form>
      )}
      {missing.value !== '' && <Told kind="stop">{missing.value}</Told>}
      {said.value.map((found) => (
        <Said found={found} />
      ))}
      {chosen !== undefined && stops.length > 0 && stops.every(isAcceptable) && (
        <form
          onSubmit={(event) => {
            event.preventDefault();
            if (because.value.trim().length >= 3) record(chosen, because.value.trim());
          }}
        >
          <label>
            {texts.isSo}
            <input
              value={because.value}
              onInput={(event) => {
                because.value = event.currentTarget.value;
              }}
            />
          </label>
          <button type="submit">{texts.recordAnyway}</button>
        </form>
      )}
    </section>
  );
}
