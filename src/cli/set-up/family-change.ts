import { basename } from 'node:path';
import { systemWordOf } from '../../core/model/tool-error.ts';
import type { FamilyReport } from '../../core/report/reports.ts';
import { familiesFor, familyFolderOfDesk, fileNamed } from '../desk.ts';
import { confirmed, expectAgreement } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
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
    const { families } = await familiesFor(named);
    const { familyFiles } = await import('../../io/families/family-folder.ts');
    const { proposeWidening } = await import('../../workflows/change-family.ts');
    const { renderWidening, renderFamilyFindings } = await import('../../render/text/render-family.ts');
    const next = await proposeWidening(text, families, familyFiles);
    if ('because' in next) throw new UsageError(next.because, next.todo);
    const report = { command: 'family widen' as const, ...next };
    const { source, verdict, findings } = next;
    await frame.show(`${renderWidening(next.place, frame.look)}${renderFamilyFindings(findings, frame.look)}\n`);
    if (verdict === 'not-ready' || dryRun || !(await agreed(yes, `Change ${source}?`)))
      return { ...report, said: 'Nothing was changed.' };
    await familyFiles.change(source, next.text);
    return { ...report, said: `${source} was changed.` };
  },
  text: async ({ said }) => `${said}\n`,
  json: document,
});

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
    const { families } = await familiesFor(named);
    const { familyFiles } = await import('../../io/families/family-folder.ts');
    const { proposeConfirmation } = await import('../../workflows/change-family.ts');
    const pair = { label, package: basename(file), from };
    const next = await proposeConfirmation(name, pair, families, familyFiles);
    if ('because' in next) throw new UsageError(next.because, next.todo);
    const report = { command: 'family confirm' as const, ...next };
    const { source } = next;
    if (next.verdict === 'not-ready') return { ...report, said: 'Nothing was changed.' };
    if (dryRun || !(await agreed(yes, `Note in ${source} that "${label}" took ${pair.package}?`)))
      return { ...report, said: 'Nothing was changed.' };
    await familyFiles.change(source, next.text);
    return {
      ...report,
      said: `${source} is confirmed. Prepare the sticks of it anew: they keep what was open when they were made.`,
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
