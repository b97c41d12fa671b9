import { roundDeskFor, roundFolderFor } from '../desk.ts';
import { command } from '../frame/command.ts';
import { endings, json, panelLabel, panelSerial, round } from '../words.ts';

export const roundMerge = command({
  words: (it) =>
    it
      .description(
        'Takes in every line that this round does not have, in any order, as often as you like. Changes nothing else.',
      )
      .argument('<folder-or-file...>', "other copies of the round's folder, or files of records")
      .addOption(round())
      .addOption(json()),
  examples: ['stickwright round merge /media/stick/north.round'],
  codes: endings('merged'),
  run: async (sources, options) => {
    const { mergeRounds } = await import('../../workflows/round-status.ts');
    return await mergeRounds(sources, await roundFolderFor(options));
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
