import type { FleetExamples } from '../../core/label/propose-family.ts';
import type { FamilyNewReport } from '../../core/report/reports.ts';
import type { Draft } from '../../io/files/drafts.ts';
import { familyFolderOfDesk, whoIs } from '../desk.ts';
import { confirmed, expectAgreement, isAskable } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { aside, lookOfAside } from '../frame/screen.ts';
import { json } from '../words.ts';

export const familyNew = command({
  words: (it) =>
    it
      .description(
        'Asks for two or three labels and package names and what each part means, proposes the patterns, shows how they read every example, and writes the commented file. It can be stopped anywhere and goes on where it was.',
      )
      .option('--from <file>', 'take the examples from a YAML or JSON file instead of asking; - is stdin')
      .option('--to <folder>', 'where to write it (default: your own folder of families)')
      .option('-n, --dry-run', 'show the file; write nothing')
      .option('-y, --yes', 'agree in advance')
      .addOption(json()),
  examples: ['stickwright family new', 'stickwright family new --from examples.yaml --to families/ --yes'],
  run: async ({ from, to, dryRun, yes }, frame): Promise<FamilyNewReport> => {
    const { fleetExamplesForm, readFleetExamples } = await import('../../io/families/write-family-file.ts');
    if (from === undefined && !isAskable(frame)) {
      throw new UsageError(
        'Nobody is here to be asked: this is not a terminal, or --json was given.',
        `Write the examples into a file and give it with --from:\n${fleetExamplesForm}`,
      );
    }
    const todo = 'Look at the proposal with --dry-run, then run it again with --yes.';
    expectAgreement(frame, dryRun === true || yes === true, todo);
    const folder = to ?? (await familyFolderOfDesk());
    const { openDraft } = await import('../../io/files/drafts.ts');
    const draft = await openDraft('family-new');
    const examples =
      from === undefined
        ? await askFleetExamples(draft)
        : { ...(await readFleetExamples(from)), madeFrom: { by: whoIs(undefined), whereRead: {} } };
    const proposed = await propose(examples, folder);
    const { renderFamilyProposal } = await import('../../render/text/render-family.ts');
    await frame.show(renderFamilyProposal(proposed, frame.look));
    const { family } = examples;
    const writes =
      proposed.verdict !== 'not-ready' &&
      !dryRun &&
      (yes === true || (await confirmed(`Write ${family}.yaml into ${folder}?`, true)));
    if (!writes) return proposed;
    const { writeFamilyFile } = await import('../../io/families/write-family-file.ts');
    const path = await writeFamilyFile(folder, family, proposed.text);
    if (from === undefined) await draft.drop();
    return { ...proposed, path };
  },
  text: async (report, look) => (await import('../../render/text/render-family.ts')).renderFamilyWritten(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/stick-documents.ts')).familyNewDocument(report, exitCode),
});

/** Writes the family that was made of what lies on the table, where nothing stops it. */
export async function makeTableFamily(
  examples: FleetExamples,
  folder: string,
): Promise<FamilyNewReport & { readonly said: string }> {
  const { familyFolder } = await import('../../io/families/family-folder.ts');
  const { makeFamily } = await import('../../workflows/make-family.ts');
  const made = await makeFamily(examples, familyFolder(folder));
  if ('because' in made) throw noPattern(made.because);
  const { renderTableFamily } = await import('../../render/text/render-family.ts');
  const said = made.path === undefined ? '' : renderTableFamily(made.proposal, made.path, lookOfAside());
  return { ...made, said };
}

async function propose(examples: FleetExamples, folder: string): Promise<FamilyNewReport> {
  const { familyFolder } = await import('../../io/families/family-folder.ts');
  const { proposeNewFamily } = await import('../../workflows/make-family.ts');
  const proposed = await proposeNewFamily(examples, familyFolder(folder));
  if ('because' in proposed) throw noPattern(proposed.because);
  return proposed;
}

const noPattern = (because: string): UsageError =>
  new UsageError(
    `No pattern reads these examples: ${because}.`,
    'Give each part exactly as it stands in its label or name, the same parts in the same order, and two different examples.',
  );

/** Every answer is kept, so that ^C loses none. */
async function askFleetExamples(draft: Draft): Promise<FleetExamples> {
  const { nextOfFamily } = await import('../../core/guide/family-course.ts');
  const { answerNext } = await import('../frame/converse.ts');
  let { answers } = draft;
  const { name } = answers;
  if (
    Object.keys(answers).length > 0 &&
    !(await confirmed(`Go on with ${name ?? 'what was begun'}, where it was?`, true))
  )
    answers = {};
  aside('Ctrl-C stops and keeps every answer; < goes back a question.\n');
  for (;;) {
    const next = nextOfFamily(answers, whoIs(undefined));
    if (next.step === 'propose') return next.examples;
    answers = await answerNext(next.question, answers, draft);
  }
}
