import type { Verdict } from '../../core/findings/finding.ts';
import { visible } from '../../core/text/visible.ts';
import { desk } from '../state.ts';

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

/** The same of several lines. */
export const WordLines = ({ children }: { children: string }) =>
  children.split('\n').map((line, at) => (
    <span key={at} class="block">
      <Words>{line}</Words>
    </span>
  ));

/** A moment by the desk's clock; RFC 3339 behind it. */
export const When = ({ children }: { children: string }) => (
  <time dateTime={children}>
    {new Date(children).toLocaleString('en-GB', {
      dateStyle: 'medium',
      timeStyle: 'short',
      timeZone: desk.value?.zone,
    })}
  </time>
);
