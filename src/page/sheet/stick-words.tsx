import type { TargetSeen } from '../../core/report/window-talk.ts';
import { roundedSize } from '../../core/text/words.ts';
import { Words } from './marks.tsx';
import { Rights } from './rights.tsx';

/** A stick to be chosen, in words: what it is, what lies on it, and why it is not used where it is not. */
export const StickWords = ({ seen }: { seen: TargetSeen }) => {
  const { target, name, bytes, serial, holds, refused } = seen;
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
      <Rights seen={seen} />
    </span>
  );
};
