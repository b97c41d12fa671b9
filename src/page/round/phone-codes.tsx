import { computed, signal } from '@preact/signals';
import { placeOfPart } from '../../core/rounds/pocket/pocket-parts.ts';
import { listInWords } from '../../core/text/words.ts';
import { Camera } from '../camera/camera.tsx';
import { codesInPictures } from '../camera/load-reader.ts';

/** What was read so far: the parts of each series by their numbers. */
const parts = signal<ReadonlyMap<string, ReadonlyMap<number, string>>>(new Map());
const said = signal('');

interface Series {
  readonly set: string;
  readonly of: number;
  readonly texts: readonly string[];
  readonly missing: readonly number[];
}

const series = computed(() =>
  [...parts.value].map(([set, own]): Series => {
    const texts = [...own].toSorted(([a], [b]) => a - b).map(([, text]) => text);
    const of = placeOfPart(texts[0] ?? '')?.of ?? 0;
    const missing = Array.from({ length: of }, (_, at) => at + 1).filter((number) => !own.has(number));
    return { set, of, texts, missing };
  }),
);

/** Takes in what a whole text of a phone says, under a name. */
type TakeIn = (name: string, text: string) => Promise<void>;

const forget = (set: string): void => {
  parts.value = new Map([...parts.value].filter(([one]) => one !== set));
};

/** Keeps what CODES say, in whichever order they come, and takes in every series that is whole by that. */
function hear(codes: readonly string[], takeIn: TakeIn): boolean {
  const isStrange = codes.filter((code) => placeOfPart(code) === undefined);
  for (const code of codes) {
    const place = placeOfPart(code);
    if (place === undefined) continue;
    const own = new Map(parts.value.get(place.set)).set(place.number, code);
    parts.value = new Map(parts.value).set(place.set, own);
  }
  said.value =
    isStrange.length === 0 ? '' : 'A code was read that is none of a phone’s entries. Cards and tags are read above.';
  const whole = series.value.filter(({ missing }) => missing.length === 0);
  for (const one of whole) takeSeries(one, takeIn);
  return whole.length > 0 && series.value.length === 0;
}

function takeSeries({ set, texts }: Series, takeIn: TakeIn): void {
  forget(set);
  void takeIn(`codes ${set} of a phone`, texts.join('\n'));
}

/** Screenshots or photos of the codes. */
export async function hearPictures(pictures: readonly File[], takeIn: TakeIn): Promise<void> {
  const found = await codesInPictures(pictures);
  hear(
    found.flatMap(({ codes }) => codes ?? []),
    takeIn,
  );
  const without = found.filter(({ codes }) => codes === undefined || codes.length === 0).map(({ name }) => name);
  if (without.length > 0)
    said.value = `No code was found in ${listInWords(without)}. Take the picture once more, the whole code in it.`;
}

/** The codes that a phone shows one after the other: which are here, and which are still missing. */
export function PhoneCodes({ takeIn }: { takeIn: TakeIn }) {
  return (
    <section class="phone-codes" aria-label="Codes on a phone">
      <Camera
        title="Film the codes on a phone"
        otherwise="Drop screenshots of the codes above, or let them send the text."
        heard={(codes) => hear(codes, takeIn)}
      />
      <p role="status">{said}</p>
      <div role="status">
        {series.value.map((one) => (
          <Collected key={one.set} series={one} takeIn={takeIn} />
        ))}
      </div>
    </section>
  );
}

function Collected({ series: one, takeIn }: { series: Series; takeIn: TakeIn }) {
  const { set, of, texts, missing } = one;
  return (
    <div>
      <p>
        <b>
          Codes {set}: {texts.length} of {of} are here.
        </b>{' '}
        Still missing: {listInWords(missing.map(String))}. Turn to them on the phone; the order does not matter.
      </p>
      <p class="buttons">
        <button type="button" onClick={() => takeSeries(one, takeIn)}>
          Take in what is here<span class="unseen"> of codes {set}</span>
        </button>
        <button type="button" onClick={() => forget(set)}>
          Forget them<span class="unseen">: codes {set}</span>
        </button>
      </p>
    </div>
  );
}
