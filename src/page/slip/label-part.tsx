import { severityOf, textsOf } from '../../core/findings/finding.ts';
import { splitLabels } from '../../core/text/label-text.ts';
import { type FindingSeen, Findings } from '../sheet/findings.tsx';
import { Part } from '../sheet/part.tsx';
import { answers, desk, slip, write } from '../state.ts';

/** The label, read while it is typed, in the shape of the plate that it stands on. */
export function LabelPart() {
  const { label } = slip.value;
  const text = answers.value.label ?? '';
  const again = answers.value['label.again'] ?? '';
  return (
    <Part number={1} title="The panel">
      <label class="plate-entry">
        The label on its back, as it is printed
        <input
          type="text"
          class="plate"
          value={text}
          autocomplete="off"
          autocapitalize="off"
          spellcheck={false}
          placeholder={desk.value?.families[0]?.label.examples[0]?.text ?? ''}
          onPaste={pastePlate}
          onInput={({ currentTarget }) => write({ label: currentTarget.value, 'label.again': undefined })}
        />
      </label>
      {text.trim() === '' ? null : <ReadPlate />}
      <Findings findings={label.findings.filter(({ code }) => code !== 'label/read').map(seen)} />
      {label.family === undefined ? null : (
        <label class="plate-entry">
          The same once more, best read by somebody else
          <input
            type="text"
            class="plate second"
            value={again}
            autocomplete="off"
            spellcheck={false}
            onPaste={(event) => event.preventDefault()}
            onInput={({ currentTarget }) => write({ 'label.again': currentTarget.value })}
          />
        </label>
      )}
      <SecondEntry />
    </Part>
  );
}

/** A plate that is copied whole has many lines; the first that a family reads is taken, and shown to be compared. */
function pastePlate(event: ClipboardEvent): void {
  const pasted = event.clipboardData?.getData('text') ?? '';
  if (!/[\r\n]/.test(pasted.trim())) return;
  event.preventDefault();
  const [first] = splitLabels(pasted);
  write({ label: first?.text ?? '', 'label.again': undefined });
}

const seen = (found: Parameters<typeof textsOf>[0]): FindingSeen => ({
  code: found.code,
  severity: severityOf(found),
  subject: found.subject,
  facts: found.facts,
  ...textsOf(found),
});

/** Each part underlined, with its name below it. */
function ReadPlate() {
  const { stretches, family, reading } = slip.value.label;
  const parts = reading.readings[0]?.parts ?? {};
  const unsaid = Object.entries(parts).filter(([part]) => !stretches.some((one) => one.part === part));
  return (
    <div class="read-plate">
      <p class="plate-shown" aria-hidden="true">
        {stretches.map(({ text, part }, at) =>
          part === undefined ? (
            <span key={at}>{text}</span>
          ) : (
            <ruby key={at}>
              <u>{text}</u>
              <rt>{part}</rt>
            </ruby>
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
  const { second } = slip.value.label;
  if (second === undefined) return null;
  if (second.answer === 'agree')
    return (
      <p class="said-yes" role="status">
        ✓ Both entries agree.
      </p>
    );
  const at = second.at ?? 0;
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
