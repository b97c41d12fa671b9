import type { WorkSeen } from '../../core/report/window-talk.ts';
import { countInWords } from '../../core/text/words.ts';
import { WorkCard } from '../sheet/work-card.tsx';
import { targets, targetsFailed, work } from '../state.ts';
import { StickAnswer } from './stick-answer.tsx';
import { StickTag } from './stick-tag.tsx';

const kinds: Readonly<Record<string, string>> = {
  verify: 'Verified',
  'verify --returned': 'Came back',
  format: 'Format',
  prove: 'Prove',
};

/** Every stick that is plugged in, live: a tag each, with what can be done with it by itself. */
export function SticksSheet() {
  const own = work.value.filter(({ kind }) => Object.hasOwn(kinds, kind)).toReversed();
  const there = targets.value;
  const pulled = own.filter((one) => !there.some(({ target }) => one.targets.includes(target)));
  return (
    <div class="sheet sticks-sheet">
      <div class="sheet-head">
        <h1>Sticks</h1>
        <p role="status">
          {there.length === 0
            ? 'None is plugged in. Plug one in: it shows here by itself.'
            : countInWords(there.length, 'stick')}
        </p>
      </div>
      {targetsFailed.value === undefined ? null : (
        <p class="notice">Could not look at the drives: {targetsFailed.value}</p>
      )}
      {there.map((seen) => {
        const mine = own.filter((one) => one.targets.includes(seen.target));
        return (
          <StickTag key={seen.target} seen={seen} isBusy={mine.some(isGoing)}>
            {mine.map((one) => (
              <StickWork key={one.id} work={one} />
            ))}
          </StickTag>
        );
      })}
      {pulled.length === 0 ? null : <h2>Sticks that were pulled</h2>}
      {pulled.map((one) => (
        <StickWork key={one.id} work={one} />
      ))}
    </div>
  );
}

const isGoing = ({ state }: WorkSeen): boolean => state !== 'done' && state !== 'failed';

const StickWork = ({ work: one }: { work: WorkSeen }) => (
  <WorkCard work={one} title={kinds[one.kind] ?? one.kind}>
    <StickAnswer work={one} />
  </WorkCard>
);
