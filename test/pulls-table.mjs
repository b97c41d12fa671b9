// The table of all sticks that were pulled, from the lines that `npm run sticks` keeps, of every seed and sitting.
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';

const columns = ['n', 'way', 'moment', 'words on the screen', 'code', 'verify then', 'the same command then', 'end'];
const widths = [4, 11, 11, 42, 4, 34, 42, 22];

const ofEveryWholeOne = new Set(['verify/wipes-the-panel', 'verify/was-unproven', 'verify/seal-not-asked']);

/** Every pull kept in FOLDER; a line that was cut off with its sitting is none. */
export function readPulls(folder) {
  if (!existsSync(folder)) return [];
  const files = readdirSync(folder).filter((name) => name.endsWith('.jsonl'));
  const lines = files.flatMap((name) => readFileSync(join(folder, name), 'utf8').split('\n'));
  return lines.flatMap((line) => (line.endsWith('}') ? [JSON.parse(line)] : []));
}

/** How often each moment of each way led to which words, verdict and end; first, what may never be and how often. */
export function tableOf(pulls) {
  const counts = new Map();
  for (const pull of pulls) {
    const key = JSON.stringify(rowOf(pull));
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  const rows = [...counts].map(([key, count]) => [String(count), ...JSON.parse(key)]);
  const byWay = rows.toSorted((one, other) => {
    const [here, there] = [one.slice(1, 3).join(), other.slice(1, 3).join()];
    return here < there ? -1 : here > there ? 1 : Number(other[0]) - Number(one[0]);
  });
  const rule = widths.map((width) => '-'.repeat(width)).join('-+-');
  return [sumOf(pulls), '', ...inCells(columns), rule, ...byWay.flatMap((row) => [...inCells(row), rule])].join('\n');
}

/** What differs from pull to pull, and says nothing of its kind, is left out: numbers, names, times. */
function rowOf({ way, moment, code, said, verify, again, end }) {
  const plain = (words) =>
    words
      .replace(/\/(run|media)\/\S+?(?=[\s:.,]|$)/g, 'PLACE')
      .replace(/\/dev\/\w+/g, 'DEVICE')
      .replace(/\d[\d.,]*( \w?B\b| s\b)/g, 'N$1')
      .replace(/(ERROR \[[\w/-]+\]) (?!STICK)\S+/, '$1 PATH')
      .trim();
  // On a stick of this test they are always said of one that is whole.
  const told = verify.split(' ').filter((word) => !ofEveryWholeOne.has(word));
  const when = moment.replace(/at write \d+ of \d+/, 'at a write');
  return [
    way,
    when,
    plain(said) || '(the power went)',
    String(code ?? ''),
    [...new Set(told)].join(' '),
    plain(again),
    end,
  ];
}

function sumOf(pulls) {
  const ways = [...new Set(pulls.map(({ way }) => way))].toSorted();
  const counted = (list, is) => list.filter(is).length;
  const has = (words) => (pull) => pull.faults.some((fault) => fault.includes(words));
  const line = (name, list) =>
    `${name}: ${list.length} pulls; ${counted(list, has('FALSE READY'))} falsely ready, ` +
    `${counted(list, (pull) => pull.faults.some((fault) => fault.startsWith('LOST')))} with a file lost, ` +
    `${counted(list, ({ code, again }) => code === 70 || again.startsWith('70 '))} with exit code 70; ` +
    `${counted(list, ({ end }) => end === 'finished')} finished by the same command, ` +
    `${counted(list, ({ end }) => end === 'finished after a check')} after the check that it told to make, ` +
    `${counted(list, ({ end }) => end === 'NOT FINISHED')} not; ${counted(list, ({ faults }) => faults.length > 0)} with any fault`;
  return [
    ...ways.map((way) =>
      line(
        way,
        pulls.filter((pull) => pull.way === way),
      ),
    ),
    line('all', pulls),
  ].join('\n');
}

/** One row as lines, each cell broken at blanks. */
function inCells(row) {
  const cells = row.map((text, index) => broken(text, widths[index]));
  const height = Math.max(...cells.map((lines) => lines.length));
  return Array.from({ length: height }, (_, at) =>
    cells
      .map((lines, index) => (lines[at] ?? '').padEnd(widths[index]))
      .join(' | ')
      .trimEnd(),
  );
}

function broken(text, width) {
  const lines = [''];
  for (const word of text.split(' ')) {
    const last = lines.at(-1);
    if (last === '') lines[lines.length - 1] = word;
    else if (last.length + 1 + word.length <= width) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}
