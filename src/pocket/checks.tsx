import { useSignal } from '@preact/signals';
import type { RoomCard } from '../core/rounds/cards/make-cards.ts';
import type { PlateAnswer, StickAnswer } from '../core/rounds/pocket/at-panel.ts';
import { readCardCode } from '../core/rounds/records/card-code.ts';
import { setPanel } from './kept.ts';
import { PlateLabel, Told } from './marks.tsx';
import { hasOwnReader, Scan } from './scan.tsx';
import { texts } from './texts.ts';

interface FieldProps {
  readonly label: string;
  readonly told: (text: string) => void;
}

/** What is read off a plate or a tag is typed as it stands there: nothing corrects it. */
function CodeField({ label, told }: FieldProps) {
  const typed = useSignal('');
  return (
    <form
      class="row"
      onSubmit={(event) => {
        event.preventDefault();
        if (typed.value.trim() !== '') told(typed.value);
      }}
    >
      <label>
        {label}
        <input
          class="mono"
          value={typed.value}
          onInput={(event) => {
            typed.value = event.currentTarget.value;
          }}
          autocomplete="off"
          autocorrect="off"
          autocapitalize="off"
          spellcheck={false}
          enterkeyhint="done"
        />
      </label>
      <button type="submit">{texts.check}</button>
    </form>
  );
}

interface StickProps {
  readonly panel: string;
  readonly card: RoomCard;
  readonly answer: StickAnswer | undefined;
}

export function StickCheck({ panel, card, answer }: StickProps) {
  const told = (text: string): void => setPanel(panel, { stick: text });
  return (
    <section class="check" id="stick">
      <h2 tabIndex={-1}>{texts.checkStick}</h2>
      {answer !== undefined && <StickSays answer={answer} card={card} />}
      {answer?.state !== 'right' && (
        <>
          <Scan
            title={texts.scanTag}
            heard={(text) => {
              told(text);
              return true;
            }}
          />
          <CodeField label={texts.typeStick} told={told} />
        </>
      )}
      {answer?.state === 'right' && (
        <button type="button" class="small" onClick={() => setPanel(panel, { stick: undefined })}>
          {texts.again}
        </button>
      )}
    </section>
  );
}

function StickSays({ answer, card }: Pick<StickProps, 'card'> & { readonly answer: StickAnswer }) {
  const wanted = card.sticks.length === 0 ? '' : ` ${texts.stickWanted(card.sticks.join(' / '))}`;
  switch (answer.state) {
    case 'right':
      return (
        <Told kind="good">
          {answer.by === 'file' ? texts.stickRight(answer.stick) : texts.stickByTag(answer.stick)}
        </Told>
      );
    case 'wrong':
      return (
        <Told kind="stop">
          {texts.stickWrong(answer.stick, answer.load)}
          {wanted}
        </Told>
      );
    case 'unknown':
      return (
        <Told kind="stop">
          {texts.stickUnknown(answer.stick)}
          {wanted}
        </Told>
      );
    case 'no-stick':
      return <Told kind="stop">{texts.stickNone}</Told>;
  }
}

interface PlateProps {
  readonly panel: string;
  readonly answer: PlateAnswer | undefined;
}

/** The label of the list is not shown before one was typed: nobody copies it from here. */
export function PlateCheck({ panel, answer }: PlateProps) {
  const isOfCard = useSignal(false);
  const told = (text: string): void => {
    isOfCard.value = false;
    setPanel(panel, { plate: text });
  };
  return (
    <section class="check" id="plate">
      <h2 tabIndex={-1}>{texts.checkPlate}</h2>
      {answer !== undefined && <PlateSays answer={answer} />}
      {answer?.answer !== 'agree' && (
        <>
          {hasOwnReader.value && (
            <Scan
              title={texts.scanPlate}
              heard={(text) => {
                isOfCard.value = readCardCode(text) !== undefined;
                if (!isOfCard.value) told(text);
                return !isOfCard.value;
              }}
            />
          )}
          {isOfCard.value && <Told kind="stop">{texts.plateIsCard}</Told>}
          <CodeField label={texts.typePlate} told={told} />
        </>
      )}
      {answer?.answer === 'agree' && (
        <button type="button" class="small" onClick={() => setPanel(panel, { plate: undefined })}>
          {texts.again}
        </button>
      )}
    </section>
  );
}

function PlateSays({ answer }: { readonly answer: PlateAnswer }) {
  const { listed, typed, at, reads, elsewhere } = answer;
  if (answer.answer === 'agree') {
    return (
      <Told kind="good">
        <PlateLabel text={listed} /> {texts.plateRight}
      </Told>
    );
  }
  const isMisread = answer.answer === 'misread';
  return (
    <Told kind="stop">
      <p>{isMisread ? texts.plateMisread(at, listed, typed) : texts.plateDiffers(at, listed, typed)}</p>
      <p class="two">
        <PlateLabel text={listed} />
        <PlateLabel text={typed} />
      </p>
      {reads !== undefined && !isMisread && (
        <p>
          {texts.plateReads(
            reads.family,
            Object.entries(reads.parts)
              .map(([part, value]) => `${part} ${value}`)
              .join(', '),
          )}
        </p>
      )}
      {elsewhere.length > 0 && <p>{texts.plateElsewhere(elsewhere.join(', '))}</p>}
      {!isMisread && <p>{texts.plateTodo}</p>}
    </Told>
  );
}
