import { useSignal } from '@preact/signals';
import { writePocketFile } from '../core/rounds/pocket/pocket-lines.ts';
import { mostInCode, mostInText, writeParts } from '../core/rounds/pocket/pocket-parts.ts';
import { recordInWords } from '../core/rounds/records/read-visit.ts';
import { broken, givenOut, lines, photos, pocket } from './kept.ts';
import { Code, CopyField } from './marks.tsx';
import { canShare, clockOf, saveFile } from './phone.ts';
import { texts } from './texts.ts';
import { phoneTools } from './tools.ts';

/** What a person reads at the top of what they send. */
function wordsOf(): readonly string[] {
  const all = lines.value.map(({ record }) => {
    const room = 'room' in record ? `${record.room}: ` : '';
    return `${clockOf(record.at)} ${room}${recordInWords(record as Parameters<typeof recordInWords>[0])}`;
  });
  return [texts.fileWords(pocket.name, pocket.who, pocket.id, lines.value.length), ...all];
}

function fileOf(): File {
  const text = writePocketFile(wordsOf(), lines.value, pocket, phoneTools.hmac, photos.value);
  // What was damaged here is for the desk to name.
  const all = [text, ...broken.value.map((one) => `${one.replaceAll('\n', ' ')}\n`)].join('');
  const who = pocket.who.normalize('NFKD').replace(/[^A-Za-z0-9]+/g, '-');
  // Text is shared by every browser that shares files at all.
  return new File([all], `round-${who}-${pocket.id}.txt`, { type: 'text/plain' });
}

/** Three ways, so that one always works. */
export function GiveOut() {
  const said = useSignal('');
  if (lines.value.length === 0 && broken.value.length === 0) return <NothingYet />;
  const file = fileOf();
  const share = async (): Promise<void> => {
    try {
      await navigator.share({ files: [file] });
      givenOut.value = lines.value.length;
      said.value = texts.shared;
    } catch {
      said.value = texts.shareRefused;
    }
  };
  const parts = writeParts(lines.value, mostInText, phoneTools);
  return (
    <>
      <h1 tabIndex={-1}>{texts.giveOutTitle}</h1>
      <p>{texts.giveOutWhy}</p>
      <section class="check">
        <h2>{texts.asFile}</h2>
        <div class="row">
          {canShare(file) && (
            <button type="button" onClick={() => void share()}>
              {texts.share}
            </button>
          )}
          <button
            type="button"
            onClick={() => {
              saveFile(file);
              givenOut.value = lines.value.length;
              said.value = texts.saved;
            }}
          >
            {texts.save}
          </button>
        </div>
        <p role="status" class="said">
          {said.value}
        </p>
      </section>
      <section class="check">
        <h2>{texts.asText}</h2>
        <CopyField label={texts.entries(lines.value.length)} text={[...wordsOf(), '', ...parts, ''].join('\n')} />
      </section>
      <Codes />
    </>
  );
}

const NothingYet = () => (
  <>
    <h1 tabIndex={-1}>{texts.giveOutTitle}</h1>
    <p>{texts.nothingYet}</p>
  </>
);

function Codes() {
  const at = useSignal(0);
  const parts = writeParts(lines.value, mostInCode, phoneTools);
  const number = Math.min(at.value, parts.length - 1);
  const part = parts[number];
  if (part === undefined) return null;
  const turn = (by: number): void => {
    at.value = (number + by + parts.length) % parts.length;
  };
  return (
    <section class="check" id="codes">
      <h2>{texts.asCodes}</h2>
      <p>{texts.codesWhy}</p>
      <p role="status">
        <b>{texts.codeOf(number + 1, parts.length)}</b>
      </p>
      <Code text={part} says={texts.codeOf(number + 1, parts.length)} />
      <div class="row">
        <button type="button" onClick={() => turn(-1)}>
          {texts.before}
        </button>
        <button type="button" onClick={() => turn(1)}>
          {texts.after}
        </button>
      </div>
    </section>
  );
}
