import type { WorkKind } from '../desk-at-hand.ts';
import { ejecting } from '../routes/eject.ts';
import { preparing } from '../routes/prepare.ts';
import { preparingForRound } from '../routes/round-prepare.ts';
import { changingSetting, checkingDesk, makingSeal, showingSeal } from '../routes/set-up.ts';
import { addingToShelf, checkingShelf, inspecting, removingFromShelf } from '../routes/shelf.ts';
import { formatting, proving } from '../routes/sticks.ts';
import { lookingBack, verifying } from '../routes/verify.ts';

/** All kinds of work that there are: a process is told one by its name. */
const kinds = [
  addingToShelf,
  changingSetting,
  checkingDesk,
  checkingShelf,
  ejecting,
  formatting,
  inspecting,
  lookingBack,
  makingSeal,
  preparing,
  preparingForRound,
  proving,
  removingFromShelf,
  showingSeal,
  verifying,
] as readonly WorkKind<never>[] as readonly WorkKind<unknown>[];

/** Throws where there is none of that name: it was made in one place and is missing here. */
export function kindNamed(name: string): WorkKind<unknown> {
  const found = kinds.find(({ kind }) => kind === name);
  if (found === undefined) throw new Error(`no kind of work is called ${name}`);
  return found;
}
