import type { Load } from '../core/model/round.ts';
import { usualMinutes } from '../core/rounds/plan/usual-practice.ts';
import { lookAtClock, nowMs } from './clock.ts';
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
    <h2 tabIndex={-1}>{texts.steps}</h2>
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
            lookAtClock();
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
  // Set back while it ran: what is left would be said too long by as much, or for ever.
  if (nowMs.value < startedMs) return texts.waitClockBack(clockOf(nowMs.value));
  const untilMs = startedMs + to * minuteMs;
  const leftMs = untilMs - nowMs.value;
  return leftMs > 0
    ? texts.waitLeft(Math.ceil(leftMs / minuteMs), clockOf(untilMs))
    : texts.waitOver(Math.floor(-leftMs / minuteMs));
}
