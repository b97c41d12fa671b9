import { fileURLToPath } from 'node:url';
import type { DeskParts, DeskWords } from '../../server/desk-parts.ts';
import { familiesFor, familyFolderOfDesk, portsOfDesk, roundFolderFor, shelfFor, whoIs } from '../desk.ts';
import { toolVersion } from '../words.ts';

/** What the command line knows of a desk in a window, for its server and for every process that works for it. */
export const deskParts = (words: DeskWords): DeskParts => ({
  words,
  // Beside the parts of the command.
  script: fileURLToPath(new URL('../cli/set-up/desk-process.js', import.meta.url)),
  version: toolVersion,
  // A setting may be another by now.
  get who() {
    return whoIs(words.who);
  },
  families: (named = []) => familiesFor(words.families.length > 0 ? words.families : named),
  familyFolder: familyFolderOfDesk,
  shelf: ({ make, named }) => shelfFor(words.shelf ?? named, { make }),
  round: () => roundFolderFor({ round: words.round, who: words.who }).catch(() => undefined),
  ports: portsOfDesk,
});
