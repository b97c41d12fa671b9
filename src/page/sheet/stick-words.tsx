import type { TargetSeen } from '../../core/report/window-talk.ts';
import { roundedSize } from '../../core/text/words.ts';
import { Words } from './marks.tsx';
import { Rights } from './rights.tsx';

/** What such a drive wants before it is written. */
export const doubtInWords = (doubt: string): string =>
  `No removable USB stick: ${doubt}. If you mean it, it wants a reason and its size typed, and is written in this folder alone.`;

/** A stick to be chosen, in words: what it is, what lies on it, and why it is not used where it is not. */
export const StickWords = ({ seen }: { seen: TargetSeen }) => {
  const { target, name, bytes, serial, holds, refused, doubt } = seen;
  return (
    <span>
      <b>
        <Words>{name}</Words>
      </b>
      {bytes === undefined ? '' : `, ${roundedSize(bytes)}`}
      {serial === undefined ? '' : `, serial ${serial}`} <code>{target}</code>
      {holds.map((volume) => (
        <span key={volume} class="quiet block">
          <Words>{volume}</Words>
        </span>
      ))}
      {refused === undefined ? null : <span class="block">✗ Not used: {refused}.</span>}
      {doubt === undefined ? null : <span class="block">{doubtInWords(doubt)}</span>}
      <Rights seen={seen} />
    </span>
  );
};
