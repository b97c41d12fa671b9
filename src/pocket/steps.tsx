import { signal } from '@preact/signals';
import type { Load } from '../core/model/round.ts';
import { usualMinutes } from '../core/rounds/plan/usual-practice.ts';
import { type AtPanel, setPanel } from './kept.ts';
import { clockOf } from './phone.ts';
import { texts } from './texts.ts';

interface PartProps {
  readonly panel: string;
  readonly at: AtPanel;
  readonly load: Load;
}

interface TicksProps {
  readonly texts: readonly string[];
  readonly ticked: readonly number[];
  readonly tick: (ticked: readonly number[]) => void;
}

const Ticks = ({ texts: all, ticked, tick }: TicksProps) => (
  <ol class="ticks">
    {all.map((text, index) => (
      <li>
        <label>
          <input
            type="checkbox"
            checked={ticked.includes(index)}
            onChange={(event) =>
              tick(event.currentTarget.checked ? [...ticked, index] : ticked.filter((one) => one !== index))
            }
          />
          <span dir="auto">{text}</span>
        </label>
      </li>
    ))}
  </ol>
);

export const Steps = ({ panel, at, load }: PartProps) => (
  <section id="steps">
    <h2>{texts.steps}</h2>
    <Ticks texts={load.panel.steps} ticked={at.steps ?? []} tick={(steps) => setPanel(panel, { steps })} />
    <h3>{texts.never}</h3>
    <ul class="never">
      {load.panel.never.map((text) => (
        <li dir="auto">{text}</li>
      ))}
    </ul>
  </section>
);

export const Afterwards = ({ panel, at, load }: PartProps) => (
  <section id="after">
    <h2>{texts.afterwards}</h2>
    <Ticks texts={load.panel.after} ticked={at.after ?? []} tick={(after) => setPanel(panel, { after })} />
  </section>
);

/** The phone's clock, looked at every few seconds and whenever the screen comes back: timers sleep with the phone. */
const nowMs = signal(Date.now());
const look = (): void => {
  nowMs.value = Date.now();
};
export function watchClock(): void {
  setInterval(look, 5_000);
  for (const event of ['visibilitychange', 'focus', 'pageshow']) addEventListener(event, look);
  document.addEventListener('visibilitychange', look);
}

const minuteMs = 60_000;

/** Reckoned from when it began, not counted down: right again however long the phone slept. */
export function Wait({ panel, at, load }: PartProps) {
  const { minutes } = load.panel;
  const { from, to } = minutes ?? usualMinutes[load.mode];
  return (
    <section id="wait">
      <h2>{texts.waiting}</h2>
      <p>
        {minutes === null ? texts.waitUsual(from, to) : texts.waitSays(from, to)} {texts.darkIsNoFault}
      </p>
      {at.startedMs === undefined ? (
        <button
          type="button"
          onClick={() => {
            look();
            setPanel(panel, { startedMs: Date.now() });
          }}
        >
          {texts.startWait}
        </button>
      ) : (
        <>
          <p class="clock" role="timer">
            {leftInWords(at.startedMs, to)}
          </p>
          <p>{texts.waitSince(clockOf(at.startedMs))}</p>
          <button type="button" class="small" onClick={() => setPanel(panel, { startedMs: undefined })}>
            {texts.waitStop}
          </button>
        </>
      )}
    </section>
  );
}

function leftInWords(startedMs: number, to: number): string {
  const untilMs = startedMs + to * minuteMs;
  const leftMs = untilMs - nowMs.value;
  return leftMs > 0
    ? texts.waitLeft(Math.ceil(leftMs / minuteMs), clockOf(untilMs))
    : texts.waitOver(Math.floor(-leftMs / minuteMs));
}
