import { signal } from '@preact/signals';
import { type ComponentChildren, Fragment } from 'preact';
import { DeskSheet } from './desk/desk-sheet.tsx';
import { isHeldOver } from './dropped.ts';
import { FamiliesSheet } from './families/families-sheet.tsx';
import { RoundSheet } from './round/round-sheet.tsx';
import { ShelfSheet } from './shelf/shelf-sheet.tsx';
import { SlipSheet } from './slip/slip-sheet.tsx';
import { connection, desk, trouble, work } from './state.ts';
import { SticksSheet } from './sticks/sticks-sheet.tsx';

/** The sheets of the desk; the address says which one lies on top, so that the browser's own way back works. */
const sheets = [
  { name: 'Slip', path: 'slip', show: () => <SlipSheet /> },
  { name: 'Sticks', path: 'sticks', show: () => <SticksSheet /> },
  { name: 'Shelf', path: 'shelf', show: () => <ShelfSheet /> },
  { name: 'Families', path: 'families', show: () => <FamiliesSheet /> },
  { name: 'Round', path: 'round', show: (part: string) => <RoundSheet part={part} /> },
  { name: 'Desk', path: 'desk', show: () => <DeskSheet /> },
] as const;

const onTop = signal(location.hash.slice(1));
addEventListener('hashchange', () => {
  onTop.value = location.hash.slice(1);
});

export function Page() {
  if (connection.value === 'stranger') return <Stranger />;
  const [name, part = ''] = onTop.value.split('/');
  const sheet = sheets.find(({ path }) => path === name) ?? sheets[0];
  document.title = `${sheet.name}: stickwright desk`;
  return (
    <Fragment>
      <header class="blotter">
        <p class="desk-name">
          <b>stickwright</b> desk{desk.value === undefined ? '' : ` of ${desk.value.who}`}
        </p>
        <nav aria-label="Sheets of the desk">
          {sheets.map(({ name, path }) => (
            <a key={path} href={`#${path}`} aria-current={path === sheet.path ? 'page' : undefined}>
              {name}
            </a>
          ))}
        </nav>
        <UnderWay />
      </header>
      <Notices />
      <main id="sheet" class={isHeldOver.value ? 'held-over' : undefined}>
        {/* Why nothing else can be shown is to be found out there. */}
        {desk.value === undefined && sheet.path !== 'desk' ? (
          <p class="quiet">Looking at the desk …</p>
        ) : (
          sheet.show(part)
        )}
      </main>
    </Fragment>
  );
}

/** What is under way, on every sheet. */
function UnderWay() {
  const going = work.value.filter(({ state }) => state !== 'done' && state !== 'failed');
  const words =
    going.length === 0
      ? 'Nothing is under way.'
      : going.map(({ kind, about, state }) => `${kind}: ${about}${state === 'asks' ? ', asks you' : ''}`).join('; ');
  return (
    <p class={going.length === 0 ? 'under-way idle' : 'under-way'} role="status">
      {words}
    </p>
  );
}

function Notices() {
  return (
    <div class="notices" aria-live="assertive">
      {connection.value === 'gone' && (
        <Notice>
          The desk has stopped. Nothing here is lost: start it again with <code>stickwright desk</code>, and it opens a
          new window.
        </Notice>
      )}
      {trouble.value !== undefined && <Notice>{trouble.value}</Notice>}
    </div>
  );
}

const Notice = ({ children }: { children: ComponentChildren }) => <p class="notice">{children}</p>;

const Stranger = () => (
  <main class="sheet">
    <h1>This window does not belong to the desk</h1>
    <p>
      The address of a desk is good once, for a minute, and for one browser; this one was used before, or the desk was
      started anew. Start it again in a terminal with <code>stickwright desk</code>: it opens a window that belongs to
      it.
    </p>
  </main>
);
