import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { shelfFor } from '../desk.ts';
import { confirmed, expectAgreement } from '../frame/agree.ts';
import { command, type Frame } from '../frame/command.ts';
import { aside } from '../frame/screen.ts';
import { json, shelf } from '../words.ts';

export const shelfRemove = command({
  words: (it) =>
    it
      .description('Deletes packages with their records, after asking. Nothing else is touched.')
      .argument('<package...>', 'file names, or the first eight or more digits of a SHA-256')
      .option('-y, --yes', 'agree in advance')
      .addOption(shelf())
      .addOption(json()),
  examples: ['stickwright shelf remove reed.746_5B_second_K2.zip'],
  run: async (words, options, frame) => {
    const todo = 'Look at the packages with stickwright shelf list, then run it again with --yes.';
    expectAgreement(frame, options.yes === true, todo);
    const { removeFromShelf } = await import('../../workflows/shelf-list.ts');
    const agree = async (packages: readonly ShelvedPackage[]) =>
      options.yes === true || (await askToRemove(packages, frame));
    return await removeFromShelf(words, (await shelfFor(options.shelf)).shelf, agree);
  },
  text: async (report, look) => (await import('../../render/text/render-shelf.ts')).renderShelfDone(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/shelf-to-json.ts')).shelfRemoveDocument(report, exitCode),
});

async function askToRemove(packages: readonly ShelvedPackage[], { look }: Frame): Promise<boolean> {
  const { renderShelvedPackage } = await import('../../render/text/render-shelf.ts');
  aside(packages.map((one) => renderShelvedPackage(one, look)).join('\n'));
  const names = packages.map(({ record }) => record.name).join(', ');
  return await confirmed(`Delete ${names} from the shelf, for every desk?`);
}

export const shelfExport = command({
  words: (it) =>
    it
      .description('Copies packages into a folder and compares each copy with its record.')
      .argument('<package...>', 'file names, or the first eight or more digits of a SHA-256')
      .option('--to <folder>', 'where to', '.')
      .addOption(shelf())
      .addOption(json()),
  examples: ['stickwright shelf export reed.1717_5B_second_K2.zip --to Desktop'],
  run: async (words, options, frame) => {
    const { exportFromShelf } = await import('../../workflows/shelf-list.ts');
    const { shelf: place } = await shelfFor(options.shelf);
    return await exportFromShelf({ words, folder: options.to }, place, frame.atWork().signal);
  },
  text: async (report, look) => (await import('../../render/text/render-shelf.ts')).renderShelfDone(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/shelf-to-json.ts')).shelfExportDocument(report, exitCode),
});
