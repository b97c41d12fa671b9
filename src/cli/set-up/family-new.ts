import type { FamilyFile } from '../../core/checks/fit/check-families.ts';
import type { FleetExamples } from '../../core/label/propose-family.ts';
import type { NamedParts } from '../../core/label/propose-pattern.ts';
import type { FamilyNewReport } from '../../core/report/reports.ts';
import { visible as tame } from '../../core/text/visible.ts';
import { confirmed, expectAgreement, isAskable } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { ask } from '../frame/interruption.ts';
import { aside } from '../frame/screen.ts';
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
    const examples = from === undefined ? await askFleetExamples() : await readFleetExamples(from);
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

async function line(question: { message: string; default?: string; validate?: (text: string) => boolean | string }) {
  const { input } = await import('@inquirer/prompts');
  return await ask((asking) => input(question, asking));
}

/** Asks for a fleet's labels and package names and what each part means; the first example names the parts. */
async function askFleetExamples(): Promise<FleetExamples> {
  const family = await line({
    message: 'Short name of the family (small letters, digits, dashes):',
    validate: (text) => /^[a-z0-9][a-z0-9-]*$/.test(text) || 'Small letters, digits and dashes, such as sedge.',
  });
  const title = await line({ message: 'In words:', default: `${family} panels` });
  aside('\nTwo or three labels, as they are printed; as different as you have them.\n');
  const labels = await askExamples('Label', [], 2);
  aside('\nOne to three package names, as the maker names the downloads.\n');
  const partsSoFar = [...new Set(labels.flatMap(({ parts }) => Object.keys(parts)))];
  const packages = await askExamples('Package name', [...partsSoFar, 'build'], 1);
  const examples = { family, title, labels, packages, absent: {} };
  return { ...examples, absent: await askAbsent(examples) };
}

async function askExamples(what: string, known: readonly string[], fewest: number): Promise<readonly NamedParts[]> {
  const found: NamedParts[] = [];
  let names = known;
  for (;;) {
    const enough = found.length >= fewest;
    const message = `${what} ${found.length + 1}${enough ? ' (empty: no more)' : ''}:`;
    const text = (await line({ message, validate: (one) => enough || one.trim() !== '' || 'One is needed.' })).trim();
    if (text === '') return found;
    if (names.length === 0) names = await askNames(text);
    found.push({ text, parts: await askParts(text, names) });
  }
}

async function askNames(text: string): Promise<readonly string[]> {
  const split = (text: string): readonly string[] => text.split(/[\s,]+/).filter((name) => name !== '');
  const typed = await line({
    message: `Which parts can such a label have, also those that "${tame(text)}" lacks? (size, series, generation, …)`,
    validate: (one) =>
      (split(one).length > 0 && split(one).every((name) => /^[A-Za-z]\w*$/.test(name))) ||
      'Names of letters, digits and underscores, with commas between.',
  });
  return split(typed);
}

async function askParts(text: string, names: readonly string[]): Promise<Readonly<Record<string, string>>> {
  const parts: Record<string, string> = {};
  for (const name of names) {
    const value = await line({
      message: `  ${tame(name)} in "${tame(text)}" (empty: it is not there):`,
      validate: (one) =>
        text.toUpperCase().includes(one.trim().toUpperCase()) || `"${tame(one)}" does not stand in "${tame(text)}".`,
    });
    if (value.trim() !== '') parts[name] = value.trim();
  }
  return parts;
}

/** Absence is information: a first generation often carries no mark, a standard unit no factory code. */
async function askAbsent(examples: FleetExamples): Promise<Readonly<Record<string, string>>> {
  const { proposeFamily } = await import('../../core/label/propose-family.ts');
  const absent: Record<string, string> = {};
  for (const part of proposeFamily(examples).proposal?.unexplained ?? []) {
    const message = `What does it mean where ${tame(part)} is not there? (such as "standard" or "1")`;
    absent[part] = await line({ message, default: 'none' });
  }
  return absent;
}
