import { readdirSync, readFileSync } from 'node:fs';
import { Command } from '@commander-js/extra-typings';
import { describe, expect, it } from 'vitest';
import { commands } from '../../src/cli/commands.ts';
import type { AnyCommand } from '../../src/cli/frame/command.ts';

/**
 * Where a person at the window has what a command or one of its options does. What is quoted stands on the page. `no`
 * says why it is for a terminal alone, `-` that a window has no use for it.
 */
const always: Readonly<Record<string, string>> = {
  '--json': '- for scripts',
  '--family': 'Desk: the setting families; "given" to the sheet Families',
  '--shelf': 'Desk: the setting shelf',
  '--round': 'Round: "Another round"',
  '--who': 'Desk: the setting who',
  '--yes': '- each agreement is asked for',
  '--dry-run': '- everything is shown before it is agreed to',
  '--accept': 'under each stop: "Accept it, with a reason"',
  '--because': 'under each stop: "Why it may be, for all who come after"',
  '--signer': '"What its maker publishes of it", a certificate dropped there',
  '--expect-sha256': '"The hash, or the lines of a checksum list"',
  '--expect-sha512': '"The hash, or the lines of a checksum list"',
  '--expect-sha1': '"The hash, or the lines of a checksum list"',
  '--expect-md5': '"The hash, or the lines of a checksum list"',
  '--eject': '"Let go of it"',
  '--drive-size': 'Sticks: its size is typed',
  '--untried': 'Sticks: the word untried is typed',
};

interface Place {
  /** Of the command as a whole. */
  readonly at: string;
  /** Of options that are not the same everywhere. */
  readonly options?: Readonly<Record<string, string>>;
}

const places: Readonly<Record<string, Place>> = {
  next: { at: '- the slip shows what is left to fill in' },
  inspect: {
    at: 'Shelf: "Only look into it"',
    options: {
      '--label': 'Shelf: the label on the slip',
      '--expect-bytes': 'no: of what is only looked into the hash says more; the slip asks for it where it is written',
    },
  },
  guide: { at: 'Slip: the sheet itself, "Take a new slip"' },
  desk: {
    at: '- it is the window',
    options: {
      '--port': '- as it is opened',
      '--no-open': '- as it is opened',
      '--stick': '- as it is opened',
      '--raised': '- as it is opened',
    },
  },
  label: {
    at: 'Slip: "The label on its back, as it is printed; or paste the whole plate"',
    options: {
      '--again': 'Slip: "The same once more, best read by somebody else"',
      '--list': 'Families: "Read a list of labels"',
    },
  },
  prepare: {
    at: 'Slip: "Show exactly what would be written"',
    options: {
      '--mode': 'Slip: what the panel can still do decides it',
      '--label': 'Slip: "The label on its back, as it is printed; or paste the whole plate"',
      '--stick': 'Slip: "Plugged in now; one or several"',
      '--image': 'no: an image goes to a stick by another program, whose windows and guards are none of ours',
      '--size': 'no: of an image alone',
      '--at': 'no: of an image alone',
      '--from-shelf': 'Slip: "On the shelf, in the download folder and here, what fits first"',
      '--running': 'Slip: "The build on its About page (leave it empty where nobody knows)"',
      '--expect-bytes': 'Slip: "Its length in bytes"',
      '--leftovers': 'Slip, under the stop: "What shall become of them?"',
      '--tag': 'Slip: "Tag to print"',
    },
  },
  verify: {
    at: 'Sticks: "Compare it with its record"',
    options: {
      '--label': 'Sticks: "The label of the panel it is about to go to (may stay empty)"',
      '--mode': 'Sticks: "What you are about to do"',
      '--quick': 'Sticks: "Names and sizes only; the answer is at best unproven"',
      '--seal-from': 'Desk: the setting trusted seals',
      '--replugged': 'Sticks: "It was pulled and plugged in again since it was written"',
      '--steps': 'Sticks and Slip: "At the panel, step by step"',
      '--returned': 'Sticks: "It came back"',
      '--clear':
        'Sticks: "Then show what would go, and clear it for its next job"; what is no stick: the command stands there',
      '--keep-left': 'Sticks: "Copy what a panel left on it to this desk", into the folder of the desk',
    },
  },
  'shelf add': {
    at: 'Shelf: "Read it and put it on the shelf"',
    options: {
      '--from': 'Shelf: "The address that it was downloaded from (kept as text, never opened)"',
      '--note': 'Shelf: "The maker\'s release note, or what you know of it"',
    },
  },
  'shelf list': { at: 'Shelf: the sheet itself' },
  'shelf find': {
    at: 'Slip: "On the shelf, in the download folder and here, what fits first"',
    options: {
      '--label': 'Slip: the label',
      '--running': 'Shelf: "What a panel runs (its About page), to compare with each"',
    },
  },
  'shelf check': { at: 'Shelf: "Read every package again"; always all of them' },
  'shelf remove': { at: 'Shelf: "Take it off the shelf"' },
  'shelf export': {
    at: 'no: the slip writes a package from the shelf; a copy for another place is made where its folder is chosen',
    options: { '--to': 'no: as above' },
  },
  compare: {
    at: 'Shelf: "What a panel runs (its About page), to compare with each"; Slip: the build',
    options: { '--running': 'Shelf: the same' },
  },
  'round plan': {
    at: 'Round, List: "Make the plan"',
    options: {
      '--mode': 'Round, List: "Where the list asks for no way"',
      '--columns': 'Round, List: columns are pointed at',
      '--sheet': 'Round, List: "The sheet that holds the rooms; another one begins anew with its columns and rows"',
      '--sticks': 'Round, List: "Sticks at hand"',
      '--minutes': 'Round, List: "Minutes at a panel"',
      '--prepare-minutes': 'Round, List: "Minutes to prepare a stick"',
    },
  },
  'round prepare': {
    at: 'Round, Sticks: "Show what would be written on it"',
    options: {
      '--stick': 'Round, Sticks: "Which one it is"',
      '--load': 'Round, Sticks: "prepare it first"',
      '--leftovers': 'Round, Sticks: "What would confuse a panel"',
    },
  },
  'round cards': {
    at: 'Round, Paper: "A card for each room", "A tag for each stick", "The cover"',
    options: {
      '--out': "- the browser's printer has it",
      '--pdf': "- the browser's printer makes it",
      '--paper': 'Round, Paper: "Size of the room cards"',
      '--room': 'Round, on the card of a room: "Print this card"',
    },
  },
  'round pocket': {
    at: 'Round, Paper: "Save the file for the phone"',
    options: {
      '--for': 'Round, Paper: "Whose phone it is for"',
      '--out': '- the browser asks where it goes',
      '--overwrite': '- the browser asks',
      '--room': 'no: a walk is that of a stick; for one room its card does',
      '--stick': 'Round, Paper: "Only the rooms of these sticks of the plan, such as 1, 2 (empty: all rooms)"',
    },
  },
  'round record': {
    at: 'Round, Results: "Note it"',
    options: {
      '--build': 'Round, Results: "How did it go"',
      '--failed': 'Round, Results: "How did it go"',
      '--skipped': 'Round, Results: "How did it go"',
      '--not-yet': 'Round, Results: "How did it go"',
      '--approved-by': 'Round, Results: "How did it go"',
      '--stick': 'Round, Results: "Code on the tag of the stick"',
      '--before': 'Round, Results: "Build on its About page before"',
      '--at': 'Round, Results: "When it was done"',
      '--note': 'Round, Results: "Anything else worth keeping"',
      '--wiped': 'Round, Results: "What became of its data"',
      '--not-wiped': 'Round, Results: "What became of its data"',
      '--from': 'Round, Results: a filled list dropped there, "Take it in"',
      '--withdraw': 'Round, on the card of a room: "Withdraw it"',
      '--label': 'Round, Results: "Label on its plate"',
      '--serial': 'Round, Results: "Serial number on its plate"',
      '--because': 'Round, Results: "It is meant all the same, because"',
    },
  },
  'round merge': { at: 'Round, Results: "Take it in"' },
  'round status': { at: 'Round, Results' },
  'round ladder': {
    at: 'Round, Results: "What to do now"',
    options: { '--label': '- by its card', '--serial': '- by its card' },
  },
  'round export': {
    at: 'Round, Paper: "Save the filled list"',
    options: {
      '--csv': 'Round, Paper: "Save the filled list"',
      '--report': 'Round, Paper: "The report"',
      '--overwrite': '- the browser asks',
    },
  },
  'family new': {
    at: 'Families: "Make a family from what lies on the table"',
    options: { '--from': '- examples are typed', '--to': '- it goes where the desk finds it' },
  },
  'family check': { at: 'Desk: "What is here"' },
  'family list': { at: 'Families: the sheet itself' },
  'family show': { at: 'Families: its plate' },
  'family add': {
    at: 'Families: "Drop a colleague\'s family file anywhere on this page"',
    options: { '--to': '- it goes where the desk finds it' },
  },
  'family widen': { at: 'Families: "A label or a package name has more digits, or fewer, than its family takes"' },
  'family from': {
    at: 'no: it prints what somebody who writes a family file begins with; the slip asks for what it needs',
  },
  'family confirm': {
    at: 'Families: "Note it in the family file"',
    options: {
      '--label': 'Families: "A label of another variant than it was made from"',
      '--package': 'Families: "The package that a panel with that label took"',
      '--from': 'Families: "Where that is known from"',
    },
  },
  'seal new': { at: 'Desk: "Make the key of this desk"' },
  'seal show': { at: 'Desk: "Seal"' },
  format: {
    at: 'Sticks: "Format"',
    options: {
      '--for': 'Sticks: "How the panel will take it"',
      '--family': 'Sticks: "Whose panels"',
      '--size': 'no: of a new image file alone',
      '--volume-label': 'Sticks: "Name of the volume, at most 11 letters"',
      '--file-system': 'Sticks: "File system"',
      '--cluster': 'no: the published table is right but for who knows better, and they know the command',
    },
  },
  prove: {
    at: 'Sticks: "Prove"',
    options: {
      '--free-space': 'Sticks: "Try its free part"',
      '--sample': 'Sticks: "some hundred places: a quick answer"',
    },
  },
  drives: {
    at: 'Sticks: the sheet itself',
    options: {
      '--all': "no: the computer's own disks are none of a page's business",
      '--watch': 'Sticks: the sheet is live',
      '--diagnose': 'no: a file for whoever mends this tool',
    },
  },
  'settings show': { at: 'Desk: "Settings"' },
  'settings set': { at: 'Desk: "Set it"' },
  'settings unset': { at: 'Desk: "Take it back"' },
  'check-desk': { at: 'Desk: "Look again"' },
  complete: { at: '- for shells' },
  man: { at: '- for terminals' },
  explain: { at: 'under a finding that names another: what the code means' },
};

const optionsOf = async (load: () => Promise<AnyCommand>): Promise<readonly string[]> =>
  (await load()).words(new Command()).options.map(({ long }) => long ?? '');

describe('the window has a place for what commands do', () => {
  const own = commands.filter((entry): entry is readonly [string, string, () => Promise<AnyCommand>] => {
    return typeof entry[2] === 'function';
  });

  it('each command and each of its options, or says why not', async () => {
    expect(Object.keys(places).toSorted()).toEqual(own.map(([name]) => name).toSorted());
    const wanting: string[] = [];
    for (const [name, , load] of own) {
      const { options = {} } = places[name] ?? {};
      const taken = await optionsOf(load);
      wanting.push(
        ...taken.filter((one) => (options[one] ?? always[one]) === undefined).map((one) => `${name} ${one}`),
      );
      wanting.push(
        ...Object.keys(options)
          .filter((one) => !taken.includes(one))
          .map((one) => `${name} has no ${one}`),
      );
    }
    expect(wanting).toEqual([]);
  });

  it('and what is quoted there stands on the page', () => {
    const files = readdirSync('src/page', { recursive: true, encoding: 'utf8' }).filter((name) =>
      name.endsWith('.tsx'),
    );
    const page = files.map((name) => readFileSync(`src/page/${name}`, 'utf8').replaceAll(/\s+/g, ' ')).join(' ');
    const said = [
      ...Object.values(always),
      ...Object.values(places).flatMap(({ at, options = {} }) => [at, ...Object.values(options)]),
    ];
    const quoted = said.flatMap((text) => [...text.matchAll(/"([^"]+)"/g)].map(([, words = '']) => words));
    expect(quoted.length).toBeGreaterThan(80);
    expect([...new Set(quoted)].filter((words) => !page.includes(words))).toEqual([]);
  });
});
