import { familiesFor, fileNamed } from '../desk.ts';
import { labelAsMeant } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { family, json } from '../words.ts';

export const label = command({
  words: (it) =>
    it
      .description("Says what the families make of a panel's label.")
      .argument('[text]', "the label, as it is printed; or the whole plate's text with its line breaks")
      .option('--again <text>', 'the same label, as a second person typed it')
      .option('--list <file>', 'a list of labels, one a line; - for standard input')
      .addOption(family())
      .addOption(json()),
  examples: ['stickwright label "K2-second 75/5B" --family families/'],
  run: async (text, { again, list, family: named }, frame) => {
    if ((text === undefined) === (list === undefined)) {
      throw new UsageError(
        'One label, or a list of them, is needed.',
        'For example:\n  stickwright label "K2-second 75/5B"\n  stickwright label --list FILE',
      );
    }
    const { readLabelList, readPanelLabel } = await import('../../workflows/read-panel-label.ts');
    const { families } = await familiesFor(named);
    if (list !== undefined) return readLabelList(await read(list), families);
    const meant = await labelAsMeant(text ?? '', families, frame);
    return readPanelLabel(meant, again, families);
  },
  text: async (report, look) => {
    const { renderLabelList, renderLabelReport } = await import('../../render/text/render-report.ts');
    return 'labels' in report ? renderLabelList(report, look) : renderLabelReport(report, look);
  },
  json: async (report, exitCode) => {
    const { labelDocument, labelListDocument } = await import('../../render/json/to-json.ts');
    return 'labels' in report ? labelListDocument(report, exitCode) : labelDocument(report, exitCode);
  },
});

const read = async (path: string): Promise<string> =>
  (await import('../../io/files/regular-file.ts')).readTextFile(await fileNamed(path));
