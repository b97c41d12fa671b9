import type { FamilyFile } from '../../core/checks/fit/check-families.ts';
import type { FleetExamples } from '../../core/label/propose-family.ts';
import type { FamilyNewReport } from '../../core/report/reports.ts';
import { confirmed, expectAgreement, isAskable } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { json } from '../words.ts';

export const familyNew = command({
  words: (it) =>
    it
      .description(
        'Asks for two or three labels and package names and what each part means, proposes the patterns, shows how they read every example, and writes the commented file.',
      )
      .option('--from <file>', 'take the examples from a YAML or JSON file instead of asking; - is stdin')
      .option('--to <folder>', 'where to write it (default: your own folder of families)')
      .option('--dry-run', 'show the file; write nothing')
      .option('--yes', 'agree in advance')
      .addOption(json()),
  examples: ['stickwright family new', 'stickwright family new --from examples.yaml --to families/ --yes'],
  run: async ({ from, to, dryRun, yes }, frame): Promise<FamilyNewReport> => {
    const { userFamilyFolder } = await import('../../io/families/load-families.ts');
    const { fleetExamplesForm, readFleetExamples } = await import('../../io/families/write-family-file.ts');
    if (from === undefined && !isAskable(frame)) {
      throw new UsageError(
        'Nobody is here to be asked: this is not a terminal, or --json was given.',
        `Write the examples into a file and give it with --from:\n${fleetExamplesForm}`,
      );
    }
    const todo = 'Look at the proposal with --dry-run, then run it again with --yes.';
    expectAgreement(frame, dryRun === true || yes === true, todo);
    const folder = to ?? userFamilyFolder();
    const examples =
      from === undefined
        ? await (await import('./ask-fleet-examples.ts')).askFleetExamples()
        : await readFleetExamples(from);
    const proposed = await propose(examples, folder);
    const { renderFamilyProposal } = await import('../../render/text/render-family.ts');
    await frame.show(renderFamilyProposal(proposed, frame.look));
    const { family } = examples;
    const writes =
      proposed.verdict !== 'not-ready' &&
      !dryRun &&
      (yes === true || (await confirmed(`Write ${family}.yaml into ${folder}?`, true)));
    const { writeFamilyFile } = await import('../../io/families/write-family-file.ts');
    return { ...proposed, path: writes ? await writeFamilyFile(folder, family, proposed.text) : undefined };
  },
  text: async (report, look) => (await import('../../render/text/render-family.ts')).renderFamilyWritten(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/stick-documents.ts')).familyNewDocument(report, exitCode),
});

/** The proposal, and what the check says of its file: alone, and beside the families that lie where it is to go. */
async function propose(examples: FleetExamples, folder: string): Promise<FamilyNewReport> {
  const { proposeFamily, writeFamilyYaml } = await import('../../core/label/propose-family.ts');
  const { parseFamily } = await import('../../io/families/parse-family.ts');
  const { checkNewFamily } = await import('../../workflows/read-panel-label.ts');
  const { proposal, ...refusal } = proposeFamily(examples);
  if (proposal === undefined) {
    const because = 'because' in refusal ? refusal.because : '';
    throw new UsageError(
      `No pattern reads these examples: ${because}.`,
      'Give each part exactly as it stands in its label or name, the same parts in the same order, and two different examples.',
    );
  }
  const text = writeFamilyYaml(proposal);
  const file = parseFamily(`${examples.family}.yaml`, Buffer.from(text));
  const { verdict, findings } = checkNewFamily(examples.family, file, await familiesIn(folder));
  return { command: 'family new', verdict, findings, proposal, text, path: undefined };
}

async function familiesIn(folder: string): Promise<readonly FamilyFile[]> {
  const { findFamilyPlaces, readFamilyFiles } = await import('../../io/families/load-families.ts');
  const { paths } = await findFamilyPlaces([folder], {});
  // A folder that is missing or holds no family yet has none to compare with.
  return await readFamilyFiles(paths).catch(() => []);
}
