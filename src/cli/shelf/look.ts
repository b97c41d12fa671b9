import { familiesFor, shelfFor } from '../desk.ts';
import { labelAsMeant } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
import { family, json, shelf } from '../words.ts';

export const shelfList = command({
  words: (it) =>
    it
      .description('Lists what lies on the shelf; with names, all that is known of those.')
      .argument('[package...]', 'file names, or the first eight or more digits of a SHA-256')
      .addOption(shelf())
      .addOption(json()),
  examples: ['stickwright shelf list', 'stickwright shelf list reed.1717_5B_second_K2.zip'],
  run: async (words, options) => {
    const { listShelf } = await import('../../workflows/shelf-list.ts');
    return await listShelf(words, (await shelfFor(options.shelf)).shelf);
  },
  text: async (report, look) => (await import('../../render/text/render-shelf.ts')).renderShelfList(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/shelf-to-json.ts')).shelfListDocument(report, exitCode),
});

export const shelfFind = command({
  words: (it) =>
    it
      .description('Says which package is the newest for a label, how to get there, and why others do not fit.')
      .requiredOption('-l, --label <text>', "the label on the panel's back, as it is printed")
      .option('-r, --running <build>', "the build on the panel's About page")
      .addOption(shelf())
      .addOption(family())
      .addOption(json()),
  examples: ['stickwright shelf find --label "K2-second 75/5B" --running reed.746'],
  run: async ({ label: typed, running, ...options }, frame) => {
    const { findPackageOnShelf } = await import('../../workflows/shelf-find.ts');
    const { families } = await familiesFor(options.family);
    const label = await labelAsMeant(typed, families, frame);
    const again = [
      ...(options.shelf === undefined ? [] : ['--shelf', options.shelf]),
      ...options.family.flatMap((path) => ['--family', path]),
    ];
    const request = { label, running, families, options: again };
    return await findPackageOnShelf(request, (await shelfFor(options.shelf)).shelf);
  },
  text: async (report, look) => (await import('../../render/text/render-shelf-find.ts')).renderShelfFind(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/shelf-to-json.ts')).shelfFindDocument(report, exitCode),
});

export const shelfCheck = command({
  words: (it) =>
    it
      .description('Reads every package again and compares it with its record; names what does not belong.')
      .argument('[package...]', 'only these')
      .addOption(shelf())
      .addOption(json()),
  examples: ['stickwright shelf check'],
  run: async (words, options, frame) => {
    const { checkShelf } = await import('../../workflows/shelf-check.ts');
    return await checkShelf(words, (await shelfFor(options.shelf)).shelf, frame.atWork());
  },
  text: async (report, look) => (await import('../../render/text/render-shelf.ts')).renderShelfCheck(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/shelf-to-json.ts')).shelfCheckDocument(report, exitCode),
});
