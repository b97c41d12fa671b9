// A process that works for the desk in a window: the file that the server starts. It loads what it is for, and no more.
import { parentProcess } from '../../io/programs/own-process.ts';
import { deskParts } from './desk-parts.ts';

if (process.argv[2] === 'look') {
  const { lookOut } = await import('../../server/away/look-out.ts');
  lookOut(parentProcess());
} else {
  const { workAway } = await import('../../server/away/work-away.ts');
  workAway(parentProcess(), deskParts);
}
