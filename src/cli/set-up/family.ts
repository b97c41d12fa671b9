import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { FamilyReport } from '../../core/report/reports.ts';
import { familiesFor, fileNamed } from '../desk.ts';
import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { family, json } from '../words.ts';

const document = async (report: FamilyReport, exitCode: number): Promise<ReportDocument> =>
  (await import('../../render/json/stick-documents.ts')).familyDocument(report, exitCode);

export const familyCheck = command({
  words: (it) =>
    it
      .description(
        'Runs every file: its shape with line and column, its examples, slow patterns, and what two families do to each other.',
      )
      .argument('[file-or-dir...]', 'files or folders (default: as for --family)')
      .addOption(json()),
  examples: ['stickwright family check families/'],
  run: async (named) => {
    const { findFamilyPlaces, readFamilyFiles } = await import('../../io/families/load-families.ts');
    const { expandPatterns } = await import('../../io/files/expand-patterns.ts');
    const { checkFamilyFiles } = await import('../../workflows/read-panel-label.ts');
    const { paths } = await findFamilyPlaces(
      await expandPatterns(await Promise.all(named.map(fileNamed))),
      process.env,
    );
    if (paths.length === 0) throw await noFamilies();
    return checkFamilyFiles(await readFamilyFiles(paths));
  },
  text: async (report, look) => (await import('../../render/text/render-family.ts')).renderFamilyCheck(report, look),
  json: document,
});

export const familyList = command({
  words: (it) => it.description('Lists the families that this desk works with.').addOption(family()).addOption(json()),
  examples: ['stickwright family list'],
  run: async ({ family: named }): Promise<FamilyReport> => {
    const { families } = await familiesFor(named);
    return { command: 'family list', verdict: 'ready', findings: [], families };
  },
  text: async ({ families }, look) => {
    const { userFamilyFolder } = await import('../../io/families/load-families.ts');
    const { renderFamilies } = await import('../../render/text/render-family.ts');
    return renderFamilies(families, userFamilyFolder(), look);
  },
  json: document,
});

export const familyShow = command({
  words: (it) =>
    it
      .description('Shows what a family file says.')
      .argument('<name>', 'the short name of the family')
      .addOption(family())
      .addOption(json()),
  examples: ['stickwright family show sedge'],
  run: async (name, { family: named }) => {
    const { families } = await familiesFor(named);
    const shown = families.find((one) => one.family === name);
    if (shown !== undefined)
      return { command: 'family show', verdict: 'ready', findings: [], families: [shown], shown } as const;
    const known = families.map((one) => one.family).join(', ');
    const todo = known === '' ? (await noFamilies()).todo : `There are: ${known}.`;
    throw new UsageError(`There is no family ${name}.`, todo);
  },
  text: async ({ shown }, look) => (await import('../../render/text/render-family.ts')).renderFamily(shown, look),
  json: document,
});

async function noFamilies(): Promise<UsageError> {
  const { userFamilyFolder } = await import('../../io/families/load-families.ts');
  return new UsageError(
    'There are no family files.',
    `Name a file or a folder, set STICKWRIGHT_FAMILIES, put files into ${userFamilyFolder()}, or make one: stickwright family new.`,
  );
}
