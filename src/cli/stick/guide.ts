import { setTimeout as wait } from 'node:timers/promises';
import type { Finding, Verdict } from '../../core/findings/finding.ts';
import type { GuidedJob, GuideFacts, GuideStep } from '../../core/guide/guide-course.ts';
import type { FoundPackage } from '../../core/guide/package-question.ts';
import type { Answers, Question } from '../../core/guide/question.ts';
import type { Way } from '../../core/guide/which-way.ts';
import type { Family } from '../../core/model/family.ts';
import { type LeftoverPolicy, leftoverPolicies } from '../../core/model/mode.ts';
import type { StickAnswer } from '../../core/report/reports.ts';
import type { Draft } from '../../io/files/drafts.ts';
import { familiesFor, familyFolderOfDesk, whoIs } from '../desk.ts';
import { isAskable } from '../frame/agree.ts';
import { type AnyCommand, command, type Frame } from '../frame/command.ts';
import { exitCodeOf, UsageError } from '../frame/exit-codes.ts';
import { ask } from '../frame/interruption.ts';
import { aside, note } from '../frame/screen.ts';

/** How it ended: with a stick, as `prepare` answers; without one; or because nobody can go on from there. */
type GuideAnswer = { readonly verdict: Verdict } & (
  | { readonly prepared: unknown; readonly line: string }
  | { readonly way: Way }
  | { readonly findings: readonly Finding[] }
);

export const guide = command({
  words: (it) =>
    it.description(
      'Leads through one stick, question by question, from the label to the tag: which way, which package, which stick. Where no family file knows the label, one is made. It can be stopped anywhere and goes on where it was.',
    ),
  examples: ['stickwright guide'],
  run: async (_options, frame): Promise<GuideAnswer> => {
    if (!isAskable(frame))
      throw new UsageError(
        'Nobody is here to be asked: this is not a terminal.',
        'Say it all in one command instead: stickwright prepare --help',
      );
    const { openDraft } = await import('../../io/files/drafts.ts');
    const draft = await openDraft('guide');
    const kept = await goOnWith(draft);
    return await lead(kept, draft, frame);
  },
  exitCode: (answer) =>
    'prepared' in answer ? (preparing.exitCode?.(answer.prepared) ?? 0) : exitCodeOf(answer.verdict),
  text: async (answer, look) => {
    const { renderGuideEnd, renderSameCommand } = await import('../../render/text/render-guide.ts');
    if ('prepared' in answer)
      return `${await preparing.text(answer.prepared, look)}${renderSameCommand(answer.line, look)}`;
    return renderGuideEnd(answer, look);
  },
  faults: (answer) => ('prepared' in answer ? (preparing.faults?.(answer.prepared) ?? []) : []),
});

/** It answers as `prepare` does; its code is loaded when the work begins. */
let preparing: AnyCommand;

/** A draft is offered once, with what it holds. */
async function goOnWith({ answers, drop }: Draft): Promise<Answers> {
  if (Object.keys(answers).length === 0) {
    aside('One stick, step by step. Ctrl-C stops and keeps every answer;\n< goes back a question.\n\n');
    return {};
  }
  const { renderKept } = await import('../../render/text/render-guide.ts');
  const { select } = await import('@inquirer/prompts');
  aside(renderKept(answers));
  const choices = [
    { value: true, name: 'go on from there' },
    { value: false, name: 'begin anew' },
  ];
  if (await ask((asking) => select({ message: 'This was begun and not finished.', choices }, asking))) return answers;
  await drop();
  return {};
}

async function lead(kept: Answers, draft: Draft, frame: Frame): Promise<GuideAnswer> {
  const { nextOfGuide } = await import('../../core/guide/guide-course.ts');
  const { answerNext } = await import('../frame/converse.ts');
  let answers = await withoutStale(kept);
  let facts: GuideFacts = { ...(await familiesFor([])), packages: undefined, who: whoIs(undefined) };
  for (;;) {
    const next: GuideStep = nextOfGuide(facts, answers);
    switch (next.step) {
      case 'ask':
        answers = await answerNext(next.question, answers, {
          keep: draft.keep,
          stick: (question) => pickStick(question, facts.families),
        });
        break;
      case 'look':
        facts = { ...facts, packages: await findPackages() };
        break;
      case 'make-family': {
        const { makeTableFamily } = await import('../set-up/family-new.ts');
        const made = await makeTableFamily(next.examples, await familyFolderOfDesk());
        aside(made.said);
        if (made.path === undefined) return { verdict: 'not-ready', findings: made.findings };
        facts = { ...facts, families: (await familiesFor([])).families };
        if (nextOfGuide(facts, answers).step === 'make-family')
          throw new UsageError(
            `${made.path} was written, but the families in use come from elsewhere.`,
            'Put it where STICKWRIGHT_FAMILIES points, then run stickwright guide again: it goes on here.',
          );
        break;
      }
      case 'end':
        await draft.drop();
        return { verdict: next.way.way === 'over-the-air' ? 'ready' : 'unproven', way: next.way };
      case 'refuse':
        return { verdict: 'not-ready', findings: next.findings };
      case 'prepare':
        return await prepareAsGuided(next.job, draft, frame);
    }
  }
}

/** Files that were there when they were named may be gone by now: then they are asked for again. */
async function withoutStale(answers: Answers): Promise<Answers> {
  const { stat } = await import('node:fs/promises');
  const { withoutFrom } = await import('../../core/guide/question.ts');
  const { packageOf } = await import('../../core/guide/guide-course.ts');
  const path = packageOf(answers);
  if (path === '' || (await stat(path).catch(() => undefined)) !== undefined) return withoutFrom(answers, 'stick');
  note(`${path} is not there any more.`);
  return withoutFrom(answers, 'package');
}

/** What lies on the shelf, in the download folder and here. */
async function findPackages(): Promise<readonly FoundPackage[]> {
  const { shelfFor } = await import('../desk.ts');
  const { findDownloads } = await import('../../io/files/find-downloads.ts');
  const shelved = await shelfFor(undefined)
    .then(({ shelf }) => shelf.list())
    .catch(() => ({ packages: [] }));
  return [
    ...shelved.packages.map(({ path, record }) => ({ path, name: record.name, place: 'on the shelf' })),
    ...(await findDownloads(process.env)),
  ];
}

async function prepareAsGuided(job: GuidedJob, draft: Draft, frame: Frame): Promise<GuideAnswer> {
  const { prepareLine } = await import('../../core/guide/guide-course.ts');
  const { renderGuidedJob } = await import('../../render/text/render-guide.ts');
  preparing = (await import('./prepare.ts')).prepare;
  aside(renderGuidedJob(job));
  const { mode, label, running, stick } = job;
  const accepted = acceptedBy(job);
  const [accept, because] = [Object.keys(accepted), Object.values(accepted)];
  const none = { family: [], signer: [] };
  const options = { ...none, mode, label, running, stick: [stick], accept, because };
  let leftovers: LeftoverPolicy = 'stop';
  const run = async () => (await preparing.run(job.archivePath, { ...options, leftovers }, frame)) as Prepared;
  let prepared = await run();
  if (await stopsAtLeftovers(prepared)) {
    leftovers = await askWhatBecomesOfThem();
    if (leftovers !== 'stop') prepared = await run();
  }
  if (sticksOf(prepared).some(({ state }) => state === 'written' || state === 'unchanged')) await draft.drop();
  return { verdict: prepared.verdict, prepared, line: prepareLine({ ...job, sticks: [stick], leftovers, accepted }) };
}

interface Prepared {
  readonly verdict: Verdict;
  readonly findings?: readonly Finding[];
  /** Not there where nothing came to be prepared. */
  readonly sticks?: readonly StickAnswer[];
}

const sticksOf = ({ sticks = [] }: Prepared): readonly StickAnswer[] => sticks;

/** Whether nothing but what lies on the stick already keeps it from being written. */
async function stopsAtLeftovers(prepared: Prepared): Promise<boolean> {
  const { severityOf } = await import('../../core/findings/finding.ts');
  const { asksForLeftovers } = await import('../../core/guide/slip.ts');
  const onSticks = sticksOf(prepared).flatMap(({ state, findings }) => (state === 'refused' ? findings : []));
  const stops = [...(prepared.findings ?? []), ...onSticks].filter((found) => severityOf(found) === 'stop');
  return stops.length > 0 && stops.every(({ code }) => asksForLeftovers(code));
}

/** What is meant stands in the plan that was just shown; the next one says what becomes of each. */
async function askWhatBecomesOfThem(): Promise<LeftoverPolicy> {
  const { leftoverChoices } = await import('../../core/guide/slip.ts');
  const { select } = await import('@inquirer/prompts');
  const choices = leftoverPolicies.map((value) => ({ value, name: leftoverChoices[value] }));
  return await ask((asking) => select({ message: 'What shall become of them?', choices }, asking));
}

const acceptedBy = ({ because }: GuidedJob): Readonly<Record<string, string>> =>
  because === undefined ? {} : { 'fit/name-says-nothing-before-wipe': because };

const pauseMs = 1000;

/** Picks among the sticks that are plugged in, waits for one, or takes the path of a folder or an image file. */
async function pickStick(question: Question, families: readonly Family[]): Promise<string> {
  const { listDrives } = await import('../../io/drives/list-drives.ts');
  const { listJudgedDrives, awaitStick } = await import('../../workflows/watch-drives.ts');
  const { targetOf } = await import('../../core/report/name-targets.ts');
  const { nameInWords } = await import('../../render/text/render-drives.ts');
  const { tame } = await import('../../render/text/page.ts');
  const { select } = await import('@inquirer/prompts');
  for (;;) {
    const drives = await listJudgedDrives({ families, all: false }, listDrives).catch((error: unknown) => {
      note(`Could not look at the drives: ${error instanceof Error ? error.message : String(error)}`);
      return [];
    });
    const sticks = drives.flatMap((drive) => {
      const choice = targetOf(drive);
      return 'target' in choice
        ? [
            {
              value: choice.target,
              name: tame(`${choice.target}: ${nameInWords(drive)}, serial ${drive.serial || 'unknown'}`),
            },
          ]
        : [];
    });
    const choices = [
      ...sticks,
      { value: 'wait', name: sticks.length === 0 ? 'none is plugged in: wait for one' : 'wait for another' },
      { value: 'path', name: 'a folder or an image file: I type its path' },
      { value: '<', name: '(back to the question before)' },
    ];
    const picked = await ask((asking) => select({ message: question.text, choices, pageSize: 14 }, asking));
    if (picked === 'path') return await typedTarget();
    if (picked !== 'wait') return picked;
    note('Plug it in now. Ctrl-C stops; what was answered is kept.');
    const drive = await ask((asking) =>
      awaitStick(
        { families, offerThere: false, refuse: () => undefined, signal: asking.signal, note },
        { listDrives, pause: (until) => wait(pauseMs, undefined, { signal: until }).catch(() => {}) },
      ),
    );
    const choice = drive === undefined ? undefined : targetOf(drive);
    if (choice !== undefined && 'target' in choice) return choice.target;
  }
}

async function typedTarget(): Promise<string> {
  const { input } = await import('@inquirer/prompts');
  const { stat } = await import('node:fs/promises');
  const { objectionTo } = await import('../../core/guide/question.ts');
  const question: Question = { id: 'stick', kind: 'line', text: 'Path of the folder, the image file or the device' };
  const validate = async (path: string) =>
    objectionTo(question, path) ??
    ((await stat(path.trim()).catch(() => undefined)) === undefined ? `There is no ${path.trim()}.` : true);
  return (await ask((asking) => input({ message: question.text, validate }, asking))).trim();
}
