import { type Look, painter, paragraph } from './page.ts';

export interface Failure {
  readonly code: string;
  readonly subject: string;
  readonly message: string;
  readonly todo: string;
}

/** Why there is no answer, and what to do. */
export function renderFailure({ code, message, todo }: Failure, look: Look): string {
  const head = painter(look)(['bold', 'red'], `No answer [${code}]`);
  return `${head}\n${paragraph(message, 2, look)}\n${paragraph(todo, 2, look)}\n`;
}
