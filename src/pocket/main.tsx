import { signal, useSignal } from '@preact/signals';
import { render } from 'preact';
import { useEffect } from 'preact/hooks';
import { aheadOfClockMs, nowMs, watchClock } from './clock.ts';
import { erase, givenOut, lines, pocket, readKept, rooms, storage, watchOtherTabs } from './kept.ts';
import { Told } from './marks.tsx';
import { GiveOut } from './out.tsx';
import { told } from './outcome.tsx';
import { clockOf, momentOf } from './phone.ts';
import { Room } from './room.tsx';
import { Rooms } from './rooms.tsx';
import { askForOwnReader } from './scan.tsx';
import { texts } from './texts.ts';

/** Where one is stands in the address, so that the phone's own way back works. */
const place = signal(location.hash);

function App() {
  const index = /^#room-(\d+)$/.exec(place.value)?.[1];
  const key = index === undefined ? undefined : pocket.order[Number(index)];
  const room = rooms.value.find((one) => one.room.key === key);
  const done = rooms.value.filter(({ progress }) => progress === 'done' || progress === 'up-to-date').length;
  useEffect(() => {
    scrollTo(0, 0);
    told.value = '';
    document.querySelector<HTMLElement>('main h1')?.focus();
  }, [place.value]);
  const here = (hash: string) => (place.value === hash ? ('page' as const) : undefined);
  return (
    <>
      <header class="top">
        <b dir="auto">{texts.title(pocket.name, pocket.who)}</b>
        <span>{texts.doneOf(done, rooms.value.length)}</span>
      </header>
      <main key={place.value}>
        {storage.value === 'refused' && <Told kind="stop">{texts.phoneLines.noStorage}</Told>}
        {aheadOfClockMs.value !== undefined && (
          <Told kind="stop">{texts.clockBehind(momentOf(nowMs.value), momentOf(aheadOfClockMs.value))}</Told>
        )}
        {room !== undefined ? (
          <Room one={room} />
        ) : place.value === '#out' ? (
          <GiveOut />
        ) : place.value === '#about' ? (
          <About />
        ) : (
          <RoomsPage />
        )}
      </main>
      <nav class="bottom">
        <a href="#rooms" aria-current={here('#rooms')}>
          {texts.rooms}
        </a>
        <a href="#out" aria-current={here('#out')}>
          {texts.giveOut} ({lines.value.length})
        </a>
        <a href="#about" aria-current={here('#about')}>
          {texts.about}
        </a>
      </nav>
    </>
  );
}

const RoomsPage = () => (
  <>
    <h1 class="quiet" tabIndex={-1}>
      {texts.rooms}
    </h1>
    <Rooms />
  </>
);

function About() {
  const asked = useSignal(false);
  const said = useSignal('');
  return (
    <>
      <h1 tabIndex={-1}>{texts.privacy}</h1>
      <p>{texts.privacyWords(pocket.order.length, pocket.who)}</p>
      <p>{texts.whatIsKept}</p>
      <p>{texts.version(pocket.id, clockOf(pocket.madeAt))}</p>
      {asked.value ? (
        <Told kind="stop">
          <p>{texts.eraseSure(lines.value.length)}</p>
          <div class="row">
            <button
              type="button"
              onClick={() => {
                erase();
                asked.value = false;
                said.value = texts.erased;
              }}
            >
              {texts.eraseYes}
            </button>
            <button
              type="button"
              onClick={() => {
                asked.value = false;
              }}
            >
              {texts.no}
            </button>
          </div>
        </Told>
      ) : (
        <button
          type="button"
          onClick={() => {
            asked.value = true;
          }}
        >
          {texts.erase}
        </button>
      )}
      <p role="status" class="said">
        {said.value}
      </p>
    </>
  );
}

const root = document.getElementById('pocket');
if (root !== null) {
  readKept();
  watchOtherTabs();
  watchClock();
  void askForOwnReader();
  addEventListener('hashchange', () => {
    place.value = location.hash;
  });
  // Where nothing is kept, closing loses what was not given out.
  addEventListener('beforeunload', (event) => {
    if (storage.value === 'refused' && lines.value.length > givenOut.value) event.preventDefault();
  });
  // The list that stands there for whoever has no scripts goes only when this is ready to take its place.
  const made = document.createElement('div');
  render(<App />, made);
  root.replaceWith(made);
}
