// `npm run mutants`: breaks the source in thousands of small ways, one at a time, and shows which of them no test
// notices. By hand: a part takes minutes on two cores, and `npm run mutants -- plan build` takes the parts with these
// names; `--rest` tries again only what no test had noticed the last time, `--quick` with the quick tests only, and
// `--show` shows what was found before. Texts of messages are left alone.
// `equivalent.yaml` lists what no test can notice, because it changes nothing. Ends with 1 where a part stays below
// 85 %.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, openSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { setPriority } from 'node:os';
import { dirname, join } from 'node:path';
import { Instrumenter } from '@stryker-mutator/instrumenter';
import fastGlob from 'fast-glob';
import { parse } from 'yaml';
import { root, setUp } from '../../bin/set-up.mjs';
import { parts } from './parts.mjs';

setUp();
process.chdir(root);
setPriority(19);

const wantedPercent = 85;
const equivalent = parse(readFileSync('test/mutants/equivalent.yaml', 'utf8')) ?? {};

const [isRest, isQuick, isShow] = ['--rest', '--quick', '--show'].map((word) => process.argv.includes(word));
const words = process.argv.slice(2).filter((word) => !word.startsWith('--'));
const chosen = Object.keys(parts).filter((name) => words.length === 0 || words.includes(name));
if (words.some((word) => !(word in parts))) {
  process.stderr.write(`There are these parts: ${Object.keys(parts).join(', ')}\n`);
  process.exit(2);
}

const rows = [];
for (const name of chosen) rows.push(await runPart(name));
const line = (cells) => `${cells.map((cell, at) => String(cell)[at === 0 ? 'padEnd' : 'padStart'](11)).join('')}\n`;
process.stdout.write(`\n${line(['part', 'mutants', 'killed', 'survived', 'equivalent', 'percent', 'minutes'])}`);
for (const row of rows) process.stdout.write(line(Object.values(row)));
process.exit(rows.every(({ percent }) => percent >= wantedPercent) ? 0 : 1);

async function runPart(name) {
  const startedMs = Date.now();
  const folder = join('out/mutants', name);
  const journal = join(folder, 'journal.jsonl');
  const { mutants, changed } = await breakAll(folder, parts[name].mutate);
  if (!isShow) {
    const kept = isRest && !changed ? readJournal(journal).filter(({ kind }) => /killed|timeout/.test(kind)) : [];
    writeFileSync(journal, kept.map((entry) => `${JSON.stringify(entry)}\n`).join(''));
    const lists = isQuick ? parts[name].tests.slice(0, 1) : parts[name].tests;
    for (const tests of lists) runTests(folder, fastGlob.sync(tests), journal);
  }
  const row = judge(name, mutants, readJournal(journal));
  return { ...row, minutes: Math.ceil((Date.now() - startedMs) / 60_000) };
}

/** Writes the sources with every mutant in them, each behind a switch. */
async function breakAll(folder, patterns) {
  const paths = fastGlob.sync(patterns).sort();
  const texts = new Map(paths.map((path) => [path, readFileSync(path, 'utf8')]));
  const quiet = { debug() {}, info() {}, warn: console.warn, isDebugEnabled: () => false };
  const { files, mutants } = await new Instrumenter(quiet).instrument(
    paths.map((path) => ({ name: path, mutate: true, content: texts.get(path) })),
    { plugins: null, excludedMutations: ['StringLiteral'], ignorers: [] },
  );
  let changed = false;
  for (const { name, content } of files) {
    const path = join(folder, name);
    changed ||= !existsSync(path) || readFileSync(path, 'utf8') !== content;
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, content);
  }
  const alive = mutants.filter(({ status }) => status !== 'Ignored');
  return { changed, mutants: alive.map((mutant) => describe(mutant, texts.get(mutant.fileName))) };
}

function describe({ id, fileName, location: { start, end }, replacement }, text) {
  const lines = text.split('\n');
  const offset = ({ line, column }) => lines.slice(0, line).reduce((sum, one) => sum + one.length + 1, column);
  const from = short(text.slice(offset(start), offset(end)));
  return { id, path: fileName, line: start.line + 1, in: short(lines[start.line]), from, to: short(replacement) };
}

/** On one line, and of a long text the beginning and the end. */
function short(text) {
  const plain = text.replaceAll(/\s+/g, ' ').trim();
  return plain.length <= 100 ? plain : `${plain.slice(0, 70)} … ${plain.slice(-20)}`;
}

/** A process that a mutant spoilt or held up has left its file undone: another goes on with it. */
function runTests(folder, files, journal) {
  const temporary = join(root, folder, 'tmp');
  mkdirSync(temporary, { recursive: true });
  const env = { ...process.env, STICKWRIGHT_MUTANTS: folder, TMPDIR: temporary };
  const vitest = ['node_modules/vitest/vitest.mjs', 'run', '--config', 'test/mutants/vitest.config.ts', '--root', '.'];
  let left = files;
  for (let entries = -1; left.length > 0; ) {
    const log = openSync(join(folder, 'vitest.log'), 'w');
    spawnSync(process.execPath, [...vitest, ...left], { stdio: ['ignore', log, log], env });
    const known = readJournal(journal);
    const done = new Set(known.filter(({ kind }) => kind === 'done').map(({ file }) => file));
    left = files.filter((file) => !done.has(file));
    if (left.length > 0 && known.length === entries) throw new Error(`nothing comes of ${left.join(', ')}`);
    entries = known.length;
  }
  letGo(temporary);
  rmSync(temporary, { recursive: true, force: true });
}

/** What a process that ended in the middle of a test left mounted below FOLDER. */
function letGo(folder) {
  if (process.platform !== 'linux') return;
  const points = readFileSync('/proc/self/mountinfo', 'utf8')
    .split('\n')
    .map((line) => line.split(' ')[4] ?? '');
  for (const point of points.map((path) => path.replaceAll('\\040', ' ')))
    if (point.startsWith(`${folder}/`)) spawnSync('umount', ['--lazy', point]);
}

function readJournal(path) {
  if (!existsSync(path)) return [];
  const lines = readFileSync(path, 'utf8').split('\n').filter(Boolean);
  return lines.map((entry) => JSON.parse(entry));
}

function judge(part, mutants, entries) {
  const of = (wanted) => entries.filter(({ kind }) => kind === wanted);
  const noticed = new Set([...of('killed'), ...of('timeout')].map(({ mutant }) => mutant));
  const reached = new Set([...of('covered'), ...of('loaded')].flatMap(({ mutants: ids }) => ids));
  const listed = mutants.filter(isEquivalent);
  const rest = mutants.filter((mutant) => !noticed.has(mutant.id) && !listed.includes(mutant));
  process.stdout.write(`\n${part}: what no test noticed\n`);
  for (const { id, path, line, in: source, from, to } of rest) {
    process.stdout.write(
      `# ${path}:${line}${reached.has(id) ? '' : ' (no test comes here)'}\n- ${JSON.stringify({ in: source, from, to })}\n`,
    );
  }
  for (const { test } of of('cannot-be-repeated')) process.stdout.write(`cannot be repeated: ${test}\n`);
  for (const mutant of listed.filter(({ id }) => noticed.has(id)))
    process.stdout.write(`listed as equivalent, and noticed all the same: ${JSON.stringify(mutant)}\n`);
  for (const one of outdated(mutants))
    process.stdout.write(`listed as equivalent, and stands nowhere any more: ${JSON.stringify(one)}\n`);
  const count = mutants.length - listed.length;
  const killed = count - rest.length;
  const percent = count === 0 ? 100 : Math.floor((1000 * killed) / count) / 10;
  return { part, mutants: mutants.length, killed, survived: rest.length, equivalent: listed.length, percent };
}

function isEquivalent(mutant) {
  return (equivalent[mutant.path] ?? []).some(({ mutants }) => mutants.some((listed) => isThat(mutant, listed)));
}

function isThat({ in: source, from, to }, listed) {
  return listed.in === source && listed.from === from && listed.to === to;
}

/** The source has changed since, and what is there now is to be judged anew. */
function outdated(mutants) {
  return [...new Set(mutants.map(({ path }) => path))].flatMap((path) => {
    const here = mutants.filter((mutant) => mutant.path === path);
    const listed = (equivalent[path] ?? []).flatMap((group) => group.mutants);
    return listed.filter((one) => !here.some((mutant) => isThat(mutant, one))).map((one) => ({ path, ...one }));
  });
}
