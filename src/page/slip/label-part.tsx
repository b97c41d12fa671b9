import type { Question } from '../../core/guide/question.ts';
import { Widen } from '../families/widen.tsx';
import { asSeen, Findings } from '../sheet/findings.tsx';
import { Words } from '../sheet/marks.tsx';
import { answers, desk, slip, write } from '../state.ts';
import { Ask } from './ask.tsx';
import { LabelCode } from './label-code.tsx';
import { SlipPart } from './slip-part.tsx';
import { takePlate } from './take-plate.ts';

/** The label, read while it is typed, in the shape of the plate that it stands on. */
export function LabelPart() {
  const { plate, text, findings, isBegun, doubt, exact } = slip.value.label;
  // What begins a label is no fault while somebody types it.
  const shown = findings.filter(({ code }) => code !== 'label/read' && !(isBegun && code === 'label/unreadable'));
  return (
    <SlipPart number={1} title="The panel" entry={labelEntry()}>
      {plate === undefined ? <FirstEntry /> : <Plate question={plate} />}
      {text === '' ? null : <ReadPlate />}
      {isBegun ? (
        <p class="quiet" role="status">
          So far it could be a label; it is not whole yet.
        </p>
      ) : null}
      <Findings
        findings={shown.map(asSeen)}
        cure={({ code }) => (code === 'label/digits-differ' ? <Widen text={text} /> : null)}
      />
      {exact === undefined ? null : (
        <p>
          <button type="button" onClick={() => write({ label: exact })}>
            It stands there as <Words>{exact}</Words>: take that
          </button>
        </p>
      )}
      {doubt === undefined ? null : <Ask question={{ ...doubt, before: '', choices: doubt.choices?.slice(1) ?? [] }} />}
      {text === '' || plate !== undefined ? null : <SecondEntry />}
      {plate === undefined ? <LabelCode /> : null}
      {slip.value.label.isNew && !isBegun ? (
        <p>
          No family file knows this label. If it is another kind of panel, read it twice and choose its package below:
          the family is made of the two.
        </p>
      ) : null}
    </SlipPart>
  );
}

function labelEntry() {
  const { isSure, isNew, isCompared, family, reading, text } = slip.value.label;
  if (!isSure && !(isNew && isCompared)) return undefined;
  const parts = Object.entries(reading.readings[0]?.parts ?? {});
  return (
    <>
      <span class="plate-small">
        <Words>{text}</Words>
      </span>{' '}
      {family === undefined
        ? 'no family knows it yet'
        : `${family.title}: ${parts.map(([part, value]) => `${part} ${value}`).join(', ')}`}
    </>
  );
}

function FirstEntry() {
  const [example] = desk.value?.families[0]?.label.examples ?? [];
  return (
    <label class="plate-entry">
      The label on its back, as it is printed; or paste the whole plate
      <input
        type="text"
        class="plate"
        value={answers.value.label ?? ''}
        autocomplete="off"
        autocapitalize="off"
        spellcheck={false}
        placeholder={example === undefined ? '' : `such as ${example.text}`}
        onPaste={pastePlate}
        onInput={({ currentTarget }) => write({ label: currentTarget.value })}
      />
    </label>
  );
}

/** A plate that is copied as a whole has many lines; a field for one line would run them together. */
function pastePlate(event: ClipboardEvent): void {
  const pasted = event.clipboardData?.getData('text').trim() ?? '';
  if (!/[\r\n]/.test(pasted)) return;
  event.preventDefault();
  takePlate(pasted);
}

function Plate({ question }: { question: Question }) {
  return (
    <div class="plate-pasted">
      <pre>
        <Words>{answers.value.label ?? ''}</Words>
      </pre>
      <Ask question={{ ...question, choices: question.choices?.slice(0, -1) ?? [] }} />
      <button type="button" class="plain" onClick={() => write({ label: undefined })}>
        None of these: I type it
      </button>
    </div>
  );
}

/** Each part underlined, with its name below it; letters in doubt marked. */
function ReadPlate() {
  const { stretches, family, reading } = slip.value.label;
  const parts = reading.readings[0]?.parts ?? {};
  const unsaid = Object.entries(parts).filter(([part]) => !stretches.some((one) => one.part === part));
  return (
    <div class="read-plate">
      <p class="plate-shown" aria-hidden="true">
        {stretches.map(({ text, part, isDoubtful }, at) =>
          part !== undefined ? (
            <ruby key={at}>
              <u>{text}</u>
              <rt>{part}</rt>
            </ruby>
          ) : isDoubtful ? (
            <mark key={at}>{text}</mark>
          ) : (
            <span key={at}>{text}</span>
          ),
        )}
      </p>
      {family === undefined ? null : (
        <p role="status">
          {family.title}:{' '}
          {Object.entries(parts)
            .map(([part, value]) => `${part} ${value}`)
            .join(', ')}
          {unsaid.length === 0
            ? ''
            : ` (${unsaid.map(([part]) => part).join(', ')} is not on the label: as the family file says)`}
        </p>
      )}
    </div>
  );
}

function SecondEntry() {
  return (
    <>
      <label class="plate-entry">
        The same once more, best read by somebody else
        <input
          type="text"
          class="plate second"
          value={answers.value['label.again'] ?? ''}
          autocomplete="off"
          autocapitalize="off"
          spellcheck={false}
          onPaste={(event) => event.preventDefault()}
          onInput={({ currentTarget }) => write({ 'label.again': currentTarget.value })}
        />
      </label>
      <Compared />
    </>
  );
}

function Compared() {
  const { second } = slip.value.label;
  if (second === undefined) return null;
  if (second.answer === 'agree')
    return (
      <p class="said-yes" role="status">
        ✓ Both entries agree.
      </p>
    );
  const at = second.at ?? 0;
  // Still on its way: all of it so far is as above.
  if (at === [...second.second].length)
    return (
      <p class="quiet" role="status">
        So far as above.
      </p>
    );
  return (
    <div class="finding stop" role="status">
      <p>
        <b>They differ.</b>
        {second.answer === 'misread' ? ' They look alike there.' : ''} Read the plate again.
      </p>
      <p class="compared">
        <Marked text={second.first} at={at} />
        <br />
        <Marked text={second.second} at={at} />
      </p>
    </div>
  );
}

function Marked({ text, at }: { text: string; at: number }) {
  const letters = [...text];
  return (
    <code>
      {letters.slice(0, at).join('')}
      <mark>{letters[at] ?? '␣'}</mark>
      {letters.slice(at + 1).join('')}
    </code>
  );
}
