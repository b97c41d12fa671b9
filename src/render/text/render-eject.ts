import { type Look, painter, paragraph, tame } from './page.ts';

export interface EjectOutcome {
  readonly target: string;
  readonly state: 'pull-it-now' | 'not-yet' | 'nothing-to-eject';
  readonly reason?: string;
  readonly todo?: string;
}

/** `You can pull /dev/sdb now.`, or why not yet, or why there is nothing to pull. */
export function renderEject({ target, state, reason = '', todo = '' }: EjectOutcome, look: Look): string {
  const paint = painter(look);
  switch (state) {
    case 'pull-it-now':
      return `${paint(['bold', 'green'], tame(`You can pull ${target} now.`))}\n`;
    case 'nothing-to-eject':
      return `${tame(`Nothing to eject at ${target}: ${reason}.`)}\n`;
    case 'not-yet': {
      const head = paint(['bold', 'yellow'], tame(`Do not pull ${target} yet.`));
      return `${head}\n${paragraph(tame(`It could not be let go of: ${reason}`), 2, look)}\n${paragraph(tame(todo), 2, look)}\n`;
    }
  }
}
