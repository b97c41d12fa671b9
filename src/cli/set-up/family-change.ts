import { basename } from 'node:path';
import type { WideningPlace } from '../../core/checks/fit/find-widening.ts';
import type { Finding, Verdict } from '../../core/findings/finding.ts';
import type { Family } from '../../core/model/family.ts';
import { systemWordOf } from '../../core/model/tool-error.ts';
import type { FamilyReport } from '../../core/report/reports.ts';
import { familiesFor, familyFolderOfDesk, fileNamed } from '../desk.ts';
import { confirmed, expectAgreement } from '../frame/agree.ts';
import { command, type Frame } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { family, json } from '../words.ts';

const look = 'Look at it with --dry-run, then run it again with --yes.';

const document = async (report: FamilyReport, exitCode: number) =>
  (await import('../../render/json/stick-documents.ts')).familyDocument(report, exitCode);

/** What was changed, or would be. */
interface Changed extends FamilyReport {
  readonly said: string;
}

export const familyAdd = command({
  words: (it) =>
    it
      .description(
        "Checks a colleague's family file, by itself and beside those that are here, and copies it to this desk.",
      )
      .argument('<file>', 'the family file (YAML)')
      .option('--to <folder>', 'where to (default: your own folder of families)')
      .option('-n, --dry-run', 'check it; copy nothing')
      .option('-y, --yes', 'agree in advance')
      .addOption(json()),
  examples: ['stickwright family add ~/Downloads/sedge.yaml'],
  run: async (named, { to, dryRun, yes }, frame): Promise<Changed> => {
    expectAgreement(frame, dryRun === true || yes === true, look);
    const file = await fileNamed(named);
    const folder = to ?? (await familyFolderOfDesk());
    const { readFamilyFiles } = await import('../../io/families/load-families.ts');
    const { checkGivenFamily } = await import('../../workflows/make-family.ts');
    const { renderFamily, renderFamilyFindings } = await import('../../render/text/render-family.ts');
    const [read] = await readFamilyFiles([file]);
    if (read === undefined) throw new UsageError(`${file} is a folder.`, 'Name one family file.');
    const { familyFolder } = await import('../../io/families/family-folder.ts');
    const { name, ...report } = await checkGivenFamily(read, basename(file), familyFolder(folder));
    const { verdict, findings, families } = report;
    await frame.show(
      `${families.map((one) => renderFamily(one, frame.look)).join('')}${renderFamilyFindings(findings, frame.look)}`,
    );
    if (verdict === 'not-ready') return { ...report, said: 'Nothing was copied.' };
    if (dryRun || !(await agreed(yes, `Copy it to ${folder}?`))) return { ...report, said: 'Nothing was copied.' };
    const { readTextFile } = await import('../../io/files/regular-file.ts');
    const { writeFamilyFile } = await import('../../io/families/write-family-file.ts');
    return { ...report, said: `${await writeFamilyFile(folder, name, await readTextFile(file))} is here now.` };
  },
  text: async ({ said }) => `${said}\n`,
  json: document,
});

const agreed = async (yes: true | undefined, question: string): Promise<boolean> =>
  yes === true || (await confirmed(question));

export const familyWiden = command({
  words: (it) =>
    it
      .description(
        'Lets a family file take a number of digits that it did not take so far, as a label or a package name shows it. Nothing else is widened; every example must read as before.',
      )
      .argument('<label-or-package>', 'the label as it is printed, or the name of a package')
      .option('-n, --dry-run', 'show what would change; change nothing')
      .option('-y, --yes', 'agree in advance')
      .addOption(family())
      .addOption(json()),
  examples: [
    'stickwright family widen "K2-second 105/12B"',
    'stickwright family widen reed.123456_5B_second_K2.zip --dry-run',
  ],
  run: async (text, { dryRun, yes, family: named }, frame): Promise<Changed> => {
    expectAgreement(frame, dryRun === true || yes === true, look);
    const { widenForLabel, widenForPackage } = await import('../../core/checks/fit/find-widening.ts');
    const { families } = await familiesFor(named);
    const places = [...widenForLabel(text, families), ...widenForPackage(basename(text), families)];
    const [place, ...others] = places;
    if (place === undefined) throw await notWidened(text, families);
    if (others.length > 0)
      throw new UsageError(
        `Several families would take "${text}": ${places.map((one) => one.family.title).join(', ')}.`,
        `Name the file of one: --family ${place.family.source}.`,
      );
    return await widenAt(place, { families, dryRun, yes }, frame);
  },
  text: async ({ said }) => `${said}\n`,
  json: document,
});

async function notWidened(text: string, families: readonly Family[]): Promise<UsageError> {
  const { readLabel, readPackageName } = await import('../../core/label/read-label.ts');
  const [known] = [...readLabel(text, families).readings, ...readPackageName(basename(text), families).readings];
  return known === undefined
    ? new UsageError(
        `"${text}" differs from every family file by more than a number of digits.`,
        'Read it again letter by letter (stickwright label says what is likely); if it is right, it takes another pattern, or a family of its own: stickwright family new.',
      )
    : new UsageError(`${known.family.title} read "${text}" already.`, 'Nothing needs to be widened.');
}

interface Desk {
  readonly families: readonly Family[];
  readonly dryRun: true | undefined;
  readonly yes: true | undefined;
}

async function widenAt(place: WideningPlace, { families, dryRun, yes }: Desk, frame: Frame): Promise<Changed> {
  const { renderWidening, renderFamilyFindings } = await import('../../render/text/render-family.ts');
  const { quoted } = await import('../../core/label/propose-family.ts');
  const next = await changed(place.family, place.path, quoted(place.pattern), families);
  const report = { command: 'family widen' as const, ...next };
  await frame.show(`${renderWidening(place, frame.look)}${renderFamilyFindings(next.findings, frame.look)}\n`);
  const source = place.family.source;
  if (next.verdict === 'not-ready' || dryRun || !(await agreed(yes, `Change ${source}?`)))
    return { ...report, said: 'Nothing was changed.' };
  const { changeFamilyFile } = await import('../../io/families/write-family-file.ts');
  await changeFamilyFile(source, next.text);
  return { ...report, said: `${source} was changed.` };
}

interface Change {
  readonly text: string;
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly families: readonly Family[];
}

/** A family's file with another value in it, judged like a new one: every example must read as it says. */
async function changed(
  { source, family: name }: Family,
  path: WideningPlace['path'],
  value: string,
  families: readonly Family[],
): Promise<Change> {
  const { readTextFile } = await import('../../io/files/regular-file.ts');
  const { parseFamily, withValueAt } = await import('../../io/families/parse-family.ts');
  const { checkNewFamily } = await import('../../workflows/read-panel-label.ts');
  const text = withValueAt(await readTextFile(source), path, value);
  if (text === undefined) throw new UsageError(`${source} has no ${path.join('.')}.`, 'Write it there in an editor.');
  const file = parseFamily(source, Buffer.from(text));
  const others = families.filter((one) => one.family !== name);
  const beside = others.map((one) => ({
    source: one.source,
    content: { state: 'read' as const, family: one, placeOf: () => ({ line: 1, column: 1 }) },
  }));
  const { verdict, findings } = checkNewFamily(name, file, beside);
  return { text, verdict, findings, families: file.content.state === 'read' ? [file.content.family] : [] };
}

export const familyConfirm = command({
  words: (it) =>
    it
      .description(
        'Notes a label and its package from elsewhere in a family that was made from what lay on a table. From then on what is prepared by it can be READY.',
      )
      .argument('<name>', 'the short name of the family')
      .requiredOption('-l, --label <text>', 'a label of another variant than it was made from')
      .requiredOption('--package <name>', 'the package that a panel with that label took')
      .requiredOption('--from <words>', 'where that is known from: the panel that took it, a release note, a colleague')
      .option('-n, --dry-run', 'say whether it confirms; change nothing')
      .option('-y, --yes', 'agree in advance')
      .addOption(family())
      .addOption(json()),
  examples: [
    'stickwright family confirm quartz --label "86:QD" --package quartz_qd_20231204.zip --from "room 2.14 took it"',
  ],
  run: async (name, { label, package: file, from, dryRun, yes, family: named }, frame): Promise<Changed> => {
    expectAgreement(frame, dryRun === true || yes === true, look);
    const { whyNotConfirming } = await import('../../core/checks/fit/check-origin.ts');
    const { families } = await familiesFor(named);
    const found = families.find((one) => one.family === name);
    if (found === undefined)
      throw new UsageError(`There is no family ${name}.`, 'See them all: stickwright family list');
    const made = found['made-from'];
    if (made === undefined)
      throw new UsageError(`${found.title} need no confirmation.`, 'They were not made from what lay on a table.');
    const pair = { label, package: basename(file), from };
    const why = whyNotConfirming(pair, found);
    if (why !== undefined)
      throw new UsageError(
        `That confirms nothing. ${why}`,
        'Give a label and a package that are known to belong together from elsewhere.',
      );
    const { quoted } = await import('../../core/label/propose-family.ts');
    const said = [...made.confirmed, pair].map(
      (one) => `{ label: ${quoted(one.label)}, package: ${quoted(one.package)}, from: ${quoted(one.from)} }`,
    );
    const next = await changed(found, ['made-from', 'confirmed'], `[${said.join(', ')}]`, families);
    const report = { command: 'family confirm' as const, ...next };
    if (next.verdict === 'not-ready') return { ...report, said: 'Nothing was changed.' };
    if (dryRun || !(await agreed(yes, `Note in ${found.source} that "${label}" took ${pair.package}?`)))
      return { ...report, said: 'Nothing was changed.' };
    const { changeFamilyFile } = await import('../../io/families/write-family-file.ts');
    await changeFamilyFile(found.source, next.text);
    return {
      ...report,
      said: `${found.source} is confirmed. Prepare the sticks of it anew: they keep what was open when they were made.`,
    };
  },
  text: async ({ said, findings }, outlook) =>
    `${(await import('../../render/text/render-family.ts')).renderFamilyFindings(findings, outlook)}${said}\n`,
  json: document,
});

export const familyFrom = command({
  words: (it) =>
    it
      .description(
        'Looks at the names of the packages in a folder and proposes families: what stays, what varies, what is the build. Prints the examples for family new, where the labels are to be filled in. Writes nothing.',
      )
      .argument('<folder>', 'where packages lie'),
  examples: ['stickwright family from ~/Downloads'],
  run: async (folder) => {
    const { readdir } = await import('node:fs/promises');
    const { groupPackages } = await import('../../core/guide/group-packages.ts');
    const names = await readdir(folder).catch((cause: unknown) => {
      const word = systemWordOf(cause);
      if (word === undefined) throw cause;
      throw new UsageError(`${folder} cannot be looked into (${word}).`, 'Name a folder with packages.');
    });
    const { families } = await familiesFor([]);
    const groups = groupPackages(names.filter((name) => /\.zip$/i.test(name)).toSorted(), families);
    if (groups.length === 0)
      throw new UsageError(
        `No package without a family lies in ${folder}.`,
        'Packages are files whose names end with .zip.',
      );
    return { verdict: 'ready' as const, groups };
  },
  text: async ({ groups }, outlook) =>
    (await import('../../render/text/render-family.ts')).renderPackageGroups(groups, outlook),
});
