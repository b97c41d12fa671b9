import { type Look, painter, paragraph, tame } from './page.ts';

export interface EjectOutcome {
  readonly target: string;
  readonly state: 'pull-it-now' | 'not-yet';
  readonly reason?: string;
  readonly todo?: string;
}

/** `You can pull /dev/sdb now.`, or why not yet. */
export function renderEject({ target, state, reason, todo }: EjectOutcome, look: Look): string {
  const paint = painter(look);
  if (state === 'pull-it-now') return `${paint(['bold', 'green'], tame(`You can pull ${target} now.`))}\n`;
  const head = paint(['bold', 'yellow'], tame(`Do not pull ${target} yet.`));
  return `${head}\n${paragraph(tame(`It is still in use: ${reason ?? ''}`), 2, look)}\n${paragraph(tame(todo ?? ''), 2, look)}\n`;
}
