import type { Verdict } from '../../core/findings/finding.ts';
import { visible } from '../../core/text/visible.ts';

const verdictWords: Readonly<Record<Verdict, string>> = {
  ready: 'READY',
  unproven: 'UNPROVEN',
  'not-ready': 'NOT READY',
};

/** The verdict as it is stamped; told by its words and its frame, colour comes on top. */
export const Stamp = ({ verdict }: { verdict: Verdict }) => (
  <span class={`stamp ${verdict}`} role="img" aria-label={verdictWords[verdict]}>
    {verdictWords[verdict]}
  </span>
);

/** Slanted bars around everything that wipes, as on the cards. */
export const WipeBand = ({ children }: { children: string }) => (
  <p class="wipe-band">
    <span>{children}</span>
  </p>
);

/** A stranger's words, with what nobody can see made visible. */
export const Words = ({ children }: { children: string }) => <bdi>{visible(children)}</bdi>;

/** A moment by the clock of this computer; RFC 3339 behind it. */
export const When = ({ children }: { children: string }) => (
  <time dateTime={children}>
    {new Date(children).toLocaleString('en-GB', { dateStyle: 'medium', timeStyle: 'short' })}
  </time>
);
