import { fileNamed, roundDeskFor, roundFolderFor } from '../desk.ts';
import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { aside, lookOfAside, say } from '../frame/screen.ts';
import { endings, json, panelLabel, panelSerial, round } from '../words.ts';

export const roundMerge = command({
  words: (it) =>
    it
      .description(
        'Takes in every line that this round does not have, in any order, as often as you like. Changes nothing else.',
      )
      .argument(
        '<folder-or-file...>',
        "other copies of the round's folder, files of records, or what a phone gave out; - for standard input",
      )
      .addOption(round())
      .addOption(json()),
  examples: ['stickwright round merge /media/stick/north.round', 'stickwright round merge round-Ada-WFWCYNPN.txt'],
  codes: endings('merged'),
  run: async (sources, options) => {
    const { mergeRounds } = await import('../../workflows/round-status.ts');
    const files: string[] = [];
    for (const source of sources) files.push(await fileNamed(source));
    return await mergeRounds(files, await roundFolderFor(options));
  },
  text: async (report, look) =>
    (await import('../../render/text/render-round-record.ts')).renderRoundMerge(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/round-documents.ts')).roundMergeDocument(report, exitCode),
});

export const roundStatus = command({
  words: (it) =>
    it
      .description('Shows the round as its records have it: rooms, sticks, and what fails more than once.')
      .addOption(round())
      .addOption(json()),
  examples: ['stickwright round status', 'stickwright round status --json'],
  codes: endings('every room to update is done', 'rooms are left', 'all done, but not all of it is proven'),
  run: async (options) => {
    const workflow = await import('../../workflows/round-status.ts');
    return await workflow.roundStatus(await roundDeskFor(options));
  },
  text: async (report, look) =>
    (await import('../../render/text/render-round-status.ts')).renderRoundStatus(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/round-documents.ts')).roundStatusDocument(report, exitCode),
});

export const roundLadder = command({
  words: (it) =>
    it
      .description(
        'The next step of the failure ladder with the facts filled in, and after two tries the message to the maker.',
      )
      .argument('<room>', 'room, asset tag, serial, or the scanned code of a card')
      .addOption(panelLabel())
      .addOption(panelSerial())
      .addOption(round())
      .addOption(json()),
  examples: ['stickwright round ladder "Room 2.14"'],
  codes: endings('answered', 'no such room', 'something about the room is not clear'),
  run: async (room, options) => {
    const { ladderFor } = await import('../../workflows/round-status.ts');
    return await ladderFor(room, { label: options.label, serial: options.serial }, await roundDeskFor(options));
  },
  text: async (report, look) =>
    (await import('../../render/text/render-round-record.ts')).renderRoundLadder(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/round-documents.ts')).roundLadderDocument(report, exitCode),
});

export const roundExport = command({
  words: (it) =>
    it
      .description(
        'Writes the list in its own columns, order, delimiter and encoding: the running build where it is done, and outcome, build after, time, who, stick and words at the right. A workbook comes back as CSV.',
      )
      .option('--csv <file>', 'the list as CSV; - for standard output')
      .option('--report <file>', 'a report to print: HTML, A4')
      .option('--overwrite', 'replace files that are there')
      .addOption(round())
      .addOption(json()),
  examples: [
    'stickwright round export --csv done.csv --report report.html',
    'stickwright round export --csv - | column -s, -t',
  ],
  codes: endings('written', undefined, 'written, but the family files are missing'),
  run: async ({ csv, report: page, overwrite, ...options }) => {
    checkWords(csv, page, options.json);
    const { localTime } = await import('../../io/rounds/local-time.ts');
    const { writeCsv, writeExport } = await import('../../io/rounds/write-export.ts');
    const { readKeptList } = await import('../../io/rounds/copy-list.ts');
    const { renderRoundReport } = await import('../../render/html/render-round-report.ts');
    const { renderRoundExport } = await import('../../render/text/render-round-status.ts');
    const { exportRound } = await import('../../workflows/round-status.ts');
    const desk = await roundDeskFor(options);
    const report = await exportRound(
      { csv, report: page },
      {
        ...desk,
        now: () => localTime(new Date(desk.now())),
        keptList: (plan) => readKeptList(desk.folder, plan),
        writeCsv: (rows, form) => writeCsv(rows, form).bytes,
        renderReport: renderRoundReport,
        write: (path, bytes) => (path === '-' ? say(bytes) : writeExport(path, bytes, overwrite === true)),
      },
    );
    // Where the list itself goes to standard output nothing else may stand there.
    const toStdout = [csv, page].includes('-');
    if (toStdout && report.findings.length > 0) aside(renderRoundExport(report, lookOfAside()));
    return { ...report, toStdout };
  },
  text: async (report, look) =>
    report.toStdout ? '' : (await import('../../render/text/render-round-status.ts')).renderRoundExport(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/round-documents.ts')).roundExportDocument(report, exitCode),
});

function checkWords(csv: string | undefined, page: string | undefined, json: true | undefined): void {
  if (csv === undefined && page === undefined) {
    throw new UsageError(
      'Nothing to write was named.',
      'Say --csv FILE for the list, --report FILE.html for a report to print, or both.',
    );
  }
  const toStdout = [csv, page].filter((path) => path === '-').length;
  if (toStdout > 1 || (toStdout === 1 && json)) {
    throw new UsageError('Two documents cannot both go to standard output.', 'Name a file for one of them.');
  }
}
