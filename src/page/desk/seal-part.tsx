import { signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { sealAdvice } from '../../core/report/seal-words.ts';
import type { SealSeen } from '../../core/report/window-talk.ts';
import { attempt, desk } from '../state.ts';
import { ask, Refused } from '../talk.ts';

/** Empty where this desk has no key; undefined before the first answer, and where none came. */
const seen = signal<Partial<SealSeen> | undefined>(undefined);
const isMade = signal(false);
const wrong = signal('');

/** What is wrong with a key stands here: it keeps nobody from the rest of the page. */
async function read(): Promise<void> {
  seen.value = await attempt(() =>
    ask<Partial<SealSeen>>('GET', '/api/set-up/seal').catch((error: unknown) => {
      if (!(error instanceof Refused) || error.status !== 409) throw error;
      wrong.value = error.message;
      return undefined;
    }),
  );
  if (seen.value !== undefined) wrong.value = '';
}

/** The key that sticks of this desk are sealed with; a first one is made here. CHANGED hears of it. */
export function SealPart({ changed }: { changed: () => void }) {
  // Also where another page has made it.
  useEffect(() => void read(), [desk.value]);
  const make = async (): Promise<void> => {
    const made = await attempt(() => ask<SealSeen>('POST', '/api/set-up/seal', {}));
    if (made === undefined) return;
    seen.value = made;
    isMade.value = true;
    changed();
    // The button goes; whoever works by keyboard stays here.
    requestAnimationFrame(() => document.getElementById('seal')?.focus());
  };
  const { name, publicPath = '', privatePath = '' } = seen.value ?? {};
  return (
    <section aria-labelledby="seal">
      <h2 id="seal" tabIndex={-1}>
        Seal
      </h2>
      <p>
        With a key every stick that is prepared here carries a seal, so that it can be proven to be from this desk.
        Without one anybody could have written a stick of yours.
      </p>
      <p role="status">{isMade.value ? `✓ Made a key for this desk. ${sealAdvice.holds}` : ''}</p>
      {wrong.value === '' ? null : <p class="notice">✗ {wrong.value}</p>}
      {seen.value === undefined ? null : name === undefined ? (
        <p>
          <button type="button" class="next" onClick={() => void make()}>
            Make the key of this desk
          </button>{' '}
          <span class="quiet">It lies in your own folder, for this account alone, and is never overwritten.</span>
        </p>
      ) : (
        <>
          <table class="here">
            <caption class="unseen">The key of this desk, and where it lies</caption>
            <tbody>
              {Object.entries({ Key: name, Public: publicPath, Private: privatePath }).map(([title, fact]) => (
                <tr key={title}>
                  <th scope="row">{title}</th>
                  <td>
                    <code>{fact}</code>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
          <p>
            {sealAdvice.give} they set it as trusted seals on this sheet of theirs, or type{' '}
            <code class="block">stickwright verify STICK --seal-from {publicPath}</code>
          </p>
          <p>{sealAdvice.keep}</p>
        </>
      )}
    </section>
  );
}
