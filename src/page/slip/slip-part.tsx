import { computed, signal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { slip, work } from '../state.ts';
import { chosenTargets } from './chosen-targets.ts';

/** The part in which somebody is at work; without one, the first that has no answer is open. */
const heldOpen = signal<number | undefined>(undefined);

export const isUnderWay = computed(() =>
  work.value.some(({ kind, state }) => kind === 'prepare' && state !== 'done' && state !== 'failed'),
);

/** Their numbers on the slip. */
export const labelPart = 1;
export const packagePart = 3;

/** The last part, where everything above it is answered. */
const lastPart = 5;

const openPart = computed(() => {
  const { label, way, chosen } = slip.value;
  if (isUnderWay.value) return lastPart;
  const answered = [
    label.isSure || (label.isNew && label.isCompared),
    way.decided?.way === 'stick',
    chosen !== undefined && !label.isNew,
    chosenTargets().length > 0,
  ];
  return heldOpen.value ?? [...answered, false].indexOf(false) + 1;
});

interface SlipPartWords {
  readonly number: number;
  readonly title: string;
  /** What stands there in ink; undefined where it is not answered yet. */
  readonly entry: ComponentChildren;
  readonly children: ComponentChildren;
}

/**
 * A part of the slip that shrinks to its entry when it is filled in. It stays open while somebody is in it, and goes
 * when they say so: nothing jumps away below a pointer or under an arrow key (WCAG 2.2, 3.2.2).
 */
export function SlipPart({ number, title, entry, children }: SlipPartWords) {
  const isOpen = openPart.value === number;
  const hold = (): void => {
    heldOpen.value = number;
  };
  const goOn = (): void => {
    heldOpen.value = undefined;
    focusOpenPart();
  };
  /** As in any form; a form inside of it has its own. */
  const goOnByEnter = (event: KeyboardEvent): void => {
    const field = event.target instanceof HTMLInputElement ? event.target : undefined;
    if (event.key !== 'Enter' || event.defaultPrevented || entry === undefined) return;
    if (field === undefined || field.type === 'file' || field.form !== null) return;
    event.preventDefault();
    goOn();
  };
  const change = (): void => {
    hold();
    focusOpenPart();
  };
  return (
    <section class={isOpen ? 'part open' : 'part'} aria-labelledby={`part-${number}`}>
      <h2 id={`part-${number}`}>
        <span class="part-number">{number}</span> {title}
      </h2>
      {isOpen ? (
        // biome-ignore lint/a11y/noStaticElementInteractions: Enter is a short way to the button below, as in a form
        <div class="part-body" onKeyDown={goOnByEnter} onFocusIn={hold}>
          {children}
          {entry === undefined ? null : (
            <button type="button" class="next" onClick={goOn}>
              Go on
            </button>
          )}
        </div>
      ) : (
        <div class="part-body folded">
          <div class="entry">{entry ?? <span class="quiet">Not filled in yet.</span>}</div>
          {isUnderWay.value ? null : (
            <button type="button" class="plain" onClick={change}>
              {entry === undefined ? 'fill in' : 'change'}
              <span class="unseen">: {title}</span>
            </button>
          )}
        </div>
      )}
    </section>
  );
}

/** When it is drawn: to the first thing in it that somebody can do. */
function focusOpenPart(): void {
  requestAnimationFrame(() =>
    document
      .querySelector<HTMLElement>('.part.open :is(input, button, textarea, summary):not(:disabled), #agreement-or-next')
      ?.focus(),
  );
}

/** Opens the part of this NUMBER, whatever else is open. */
export const openPartOf = (number: number): void => {
  heldOpen.value = number;
};

/** A new slip begins at its top. */
export const beginAtTop = (): void => {
  heldOpen.value = undefined;
};
