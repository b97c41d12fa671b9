import type { ComponentChildren } from 'preact';
import type { TargetSeen } from '../../core/report/window-talk.ts';
import { roundedSize } from '../../core/text/words.ts';
import { Words } from '../sheet/marks.tsx';
import { Rights } from '../sheet/rights.tsx';
import { Eject } from '../sheet/stick-after.tsx';
import { doubtInWords } from '../sheet/stick-words.tsx';
import { StickForms } from './stick-forms.tsx';

interface TagWords {
  readonly seen: TargetSeen;
  readonly isBusy: boolean;
  readonly children: ComponentChildren;
}

/** A paper tag: what the drive is, what it holds, what it would do, and what came of the work on it. */
export function StickTag({ seen, isBusy, children }: TagWords) {
  const { target, name, bytes, serial, holds, refused, doubt, would } = seen;
  return (
    <article class="stick-tag" aria-label={`Stick ${target}`}>
      <h2>
        <Words>{name}</Words>
        {bytes === undefined ? '' : `, ${roundedSize(bytes)}`}
      </h2>
      <p class="quiet">
        <code>{target}</code>
        {serial === undefined ? '' : `, serial ${serial}`}
      </p>
      {holds.map((volume) => (
        <p key={volume}>
          <Words>{volume}</Words>
        </p>
      ))}
      {would.length === 0 ? null : (
        <dl class="would">
          {would.flatMap(({ mode, words }) => [
            <dt key={mode}>{mode}</dt>,
            ...words.map((line) => <dd key={`${mode} ${line}`}>{line}</dd>),
          ])}
        </dl>
      )}
      {doubt === undefined ? null : <p>{doubtInWords(doubt)} It is never erased as a whole.</p>}
      <Rights seen={seen} />
      {refused === undefined ? (
        <>
          <StickForms seen={seen} isBusy={isBusy} />
          {seen.kind === 'chosen' || doubt !== undefined ? null : <Eject target={target} isBusy={isBusy} />}
        </>
      ) : (
        <p>✗ Not used: {refused}.</p>
      )}
      {children}
    </article>
  );
}
