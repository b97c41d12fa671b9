import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { modeTraits } from '../core/model/mode.ts';
import { type LookCard, makeCards, makeLookCards, type RoomCard } from '../core/rounds/cards/make-cards.ts';
import { alwaysMind, stopAtOnce } from '../core/rounds/plan/usual-practice.ts';
import { judgePlate, judgeStick } from '../core/rounds/pocket/at-panel.ts';
import { failureLadder } from '../core/rounds/records/failure-ladder.ts';
import type { RoomStatus } from '../core/rounds/records/round-status.ts';
import { gravestOf, onPaper } from '../core/text/on-paper.ts';
import { PlateCheck, StickCheck } from './checks.tsx';
import { Entries } from './entries.tsx';
import { panelKeyOf, panels, pocket, relate, status } from './kept.ts';
import { LadderOf } from './ladder.tsx';
import { Hatch, PlateLabel, Told } from './marks.tsx';
import { Outcome, told } from './outcome.tsx';
import { NextRoom } from './rooms.tsx';
import { Afterwards, Steps, Wait } from './steps.tsx';
import { texts } from './texts.ts';

const cards = makeCards(pocket.round, pocket.records);
const looks = makeLookCards(pocket.round);

export function Room({ one }: { readonly one: RoomStatus }) {
  const { room, next, progress } = one;
  const card =
    next === undefined
      ? undefined
      : cards.find((other) => other.room.key === room.key && other.step === next.number + 1);
  const look = looks.find((other) => other.room.key === room.key);
  const ladder = one.tries.length === 0 ? undefined : failureLadder(one, status.value);
  return (
    <>
      <header class="plate head">
        <h1 tabIndex={-1} dir="auto">
          {room.room}
        </h1>
        <p>
          <span class="stamp">{texts.progress[progress]}</span>{' '}
          {room.asset !== null && (
            <span class="pair">
              {texts.asset} <b>{room.asset}</b>
            </span>
          )}{' '}
          {room.serial !== null && (
            <span class="pair">
              {texts.serial} <b>{room.serial}</b>
            </span>
          )}
        </p>
        {room.notes !== null && (
          <p>
            {texts.note}: <span dir="auto">{room.notes}</span>
          </p>
        )}
      </header>
      {told.value !== '' && (
        <>
          <Told kind="good">{told.value}</Told>
          <NextRoom />
        </>
      )}
      {ladder !== undefined && <LadderOf ladder={ladder} />}
      {card === undefined && look === undefined && <NothingToDo one={one} />}
      {/* After two tries nobody is led to a third. */}
      {card !== undefined && ladder?.isOver !== true && <WithStick one={one} card={card} />}
      {card !== undefined && ladder?.isOver === true && <OnlySkipped one={one} />}
      {card === undefined && look !== undefined && <Look one={one} look={look} />}
      <Entries one={one} />
    </>
  );
}

const Fact = ({ name, children }: { readonly name: string; readonly children: ComponentChildren }) => (
  <div class="fact">
    <dt>{name}</dt>
    <dd>{children}</dd>
  </div>
);

/** What stands on the card, from the stick to the last check; nothing is shown that must not be begun. */
function WithStick({ one, card }: { readonly one: RoomStatus; readonly card: RoomCard }) {
  const { load, approval, unproven } = card;
  const key = panelKeyOf(one);
  const at = panels.value[key] ?? {};
  const stick = at.stick === undefined ? undefined : judgeStick(at.stick, card, pocket);
  const plate = at.plate === undefined ? undefined : judgePlate(at.plate, one.room, pocket);
  const mayWipe = !load.wipes || approval !== null;
  const isStickRight = stick?.state === 'right';
  const isChecked = isStickRight && plate?.answer === 'agree';
  useGoOn(isChecked ? 'steps' : isStickRight ? 'plate' : 'stick');
  return (
    <>
      {load.wipes && <Wipe approval={approval} />}
      <dl class="facts">
        <Fact name={card.steps > 1 ? texts.stickOf(card.step, card.steps) : texts.stick}>
          <b class="mono">{card.sticks.join(' / ') || texts.notPrepared}</b>
        </Fact>
        <Fact name={texts.load}>{load.id}</Fact>
        <Fact name={texts.mode}>
          {modeTraits[load.mode].inWords}, {load.wipes ? texts.wipesData : texts.keeps}
        </Fact>
        <Fact name={texts.buildNow}>
          <bdi class="mono">{one.reached ?? card.buildBefore ?? texts.notRead}</bdi>
        </Fact>
        <Fact name={texts.target}>
          <b class="mono">{card.build}</b>
        </Fact>
      </dl>
      {card.step > 1 && card.buildBefore !== null && <Told kind="mind">{texts.onlyWhen(card.buildBefore)}</Told>}
      {card.because !== null && (
        <p>
          {texts.because}: {card.because}.
        </p>
      )}
      {unproven.length > 0 && (
        <Told kind="mind">
          <b>{texts.notProven}:</b> {unproven.map((code) => pocket.doubts[code] ?? code).join('; ')}.
        </Told>
      )}
      <p class="mind">
        <b>{texts.safety}:</b> {alwaysMind.join(' ')}
      </p>
      <p class="mind">
        <b>{texts.stopAtOnce}:</b> {stopAtOnce}.
      </p>
      {mayWipe && (
        <>
          <StickCheck panel={key} card={card} answer={stick} />
          <PlateCheck panel={key} answer={plate} />
        </>
      )}
      {mayWipe && !isChecked && <p>{texts.bothFirst}</p>}
      {mayWipe && isChecked && (
        <>
          <dl class="facts">
            <Fact name={texts.port}>{load.panel.port}</Fact>
            {!modeTraits[load.mode].isExtracted && (
              <Fact name={texts.fileToPick}>
                <bdi class="mono">{load.package.name}</bdi>
              </Fact>
            )}
          </dl>
          {load.panel.cautions.length > 0 && (
            <Told kind="mind">
              <b>{texts.mind}:</b> {load.panel.cautions.join(' ')}
            </Told>
          )}
          <Steps panel={key} at={at} load={load} />
          <Wait panel={key} at={at} load={load} />
          <Afterwards panel={key} at={at} load={load} />
        </>
      )}
      <Outcome
        one={one}
        relate={relate}
        stick={stick?.state === 'right' ? stick.stick : undefined}
        kinds={isChecked && mayWipe ? ['done', 'failed', 'skipped'] : ['skipped']}
        why={mayWipe ? '' : texts.whyWipe}
      />
    </>
  );
}

/** What is next comes into view and is read aloud when an answer made it next, and not when the page opens. */
function useGoOn(section: string): void {
  const before = useRef(section);
  useEffect(() => {
    if (before.current === section) return;
    before.current = section;
    const heading = document.querySelector<HTMLElement>(`#${section} h2`);
    heading?.scrollIntoView({ block: 'center' });
    heading?.focus({ preventScroll: true });
  }, [section]);
}

const Wipe = ({ approval }: { readonly approval: string | null }) => (
  <section class="wipe">
    <Hatch />
    <div>
      <h2>{texts.wipeTitle}</h2>
      <p>{texts.wipeLost}</p>
      {approval === null ? (
        <p role="alert">
          <b class="stamp">{texts.wait}</b> {texts.noApproval}
        </p>
      ) : (
        <p>
          {texts.approvedBy} <b dir="auto">{approval}</b>
        </p>
      )}
    </div>
  </section>
);

/** A room that updates itself: somebody looks. */
function Look({ one, look }: { readonly one: RoomStatus; readonly look: LookCard }) {
  return (
    <>
      <p class="plate">
        <PlateLabel text={one.room.label} />
      </p>
      <p>{look.reason}</p>
      <dl class="facts">
        <Fact name={texts.buildNow}>
          <bdi class="mono">{one.room.running ?? texts.notRead}</bdi>
        </Fact>
        <Fact name={texts.target}>
          <b class="mono">{look.build ?? '?'}</b>
        </Fact>
      </dl>
      <ol class="todo">
        {look.todo.map((step) => (
          <li>{onPaper(step)}</li>
        ))}
      </ol>
      <p class="mind">
        <b>{texts.safety}:</b> {alwaysMind.join(' ')}
      </p>
      <Outcome one={one} relate={relate} stick={undefined} kinds={['done', 'not-yet', 'failed', 'skipped']} why="" />
    </>
  );
}

function NothingToDo({ one }: { readonly one: RoomStatus }) {
  const said = gravestOf(one.room.findings);
  return (
    <>
      <p class="plate">
        <PlateLabel text={one.room.label} />
      </p>
      {said !== undefined && one.progress === 'held' && (
        <Told kind="stop">
          <p>
            <b>{said.title}</b>
          </p>
          <p>{onPaper(said.todo)}</p>
        </Told>
      )}
      <OnlySkipped one={one} />
    </>
  );
}

const OnlySkipped = ({ one }: { readonly one: RoomStatus }) => (
  <Outcome one={one} relate={relate} stick={undefined} kinds={['skipped']} why="" />
);
