import type { ComponentChildren } from 'preact';
import type { WorkSeen } from '../../core/report/window-talk.ts';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { Words } from './marks.tsx';
import { useFocus } from './take-focus.ts';
import { Agree, Meters, WorkError } from './work-view.tsx';

interface CardWords {
  readonly work: WorkSeen;
  readonly title: string;
  /** What was found before the agreement, or the answer. */
  readonly children: ComponentChildren;
}

/** A piece of work as a slip of paper of its own: how far it is, what it asks, and what came of it. */
export function WorkCard({ work, title, children }: CardWords) {
  const { id, about, state, agreement, error } = work;
  const isOver = state === 'done' || state === 'failed';
  return (
    <article class="work-card" aria-busy={state === 'working'}>
      <h3 tabIndex={-1} ref={useFocus<HTMLHeadingElement>(isOver)}>
        {title}: <Words>{about}</Words>
      </h3>
      <WorkError error={error} />
      {children}
      {agreement === undefined ? null : <Agree key={agreement.words} id={id} agreement={agreement} />}
      {state === 'working' || state === 'stopping' ? <Meters work={work} /> : null}
      {isOver ? (
        <button
          type="button"
          aria-label={`Put away: ${title} ${about}`}
          onClick={() => void attempt(() => ask('DELETE', `/api/work/${id}`))}
        >
          Put away
        </button>
      ) : null}
    </article>
  );
}
