import type { TargetSeen } from '../../core/report/window-talk.ts';

/** What this account may not do is said before anything starts, with what changes only that. */
export const Rights = ({ seen: { rights } }: { seen: TargetSeen }) =>
  rights === undefined ? null : (
    <span class="block rights">
      ✗ {rights.cannot} <code class="block">{rights.command}</code> When it is done, it goes on here by itself.
    </span>
  );
