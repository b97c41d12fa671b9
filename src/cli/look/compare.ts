import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import type { Family } from '../../core/model/family.ts';
import { familiesFor, shelfFor } from '../desk.ts';
import { command } from '../frame/command.ts';
import { family, json, shelf } from '../words.ts';

export const compare = command({
  words: (it) =>
    it
      .description(
        "Compares the build on a panel's About page with a package's, or with the newest on the shelf for a label, and names the builds in between that must not be skipped.",
      )
      .argument('<archive-or-label>', 'a package, or the label of a panel')
      .requiredOption('-r, --running <build>', "the build on the panel's About page")
      .addOption(shelf())
      .addOption(family())
      .addOption(json()),
  examples: [
    'stickwright compare reed.1717_5B_second_K2.zip --running reed.746',
    'stickwright compare "K2-second 75/5B" --running reed.746',
  ],
  run: async (target, options) => {
    const { compareWithName, compareWithShelf } = await import('../../workflows/shelf-find.ts');
    const { families } = await familiesFor(options.family);
    const question = { running: options.running, families };
    return (await isPackage(target, families))
      ? compareWithName(basename(target), question)
      : await compareWithShelf(target, question, (await shelfFor(options.shelf)).shelf);
  },
  text: async (report, look) => (await import('../../render/text/render-shelf-find.ts')).renderCompare(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/shelf-to-json.ts')).compareDocument(report, exitCode),
});

/** A file that is there, or a name that a family reads as a package; whatever else is given is a label. */
async function isPackage(target: string, families: readonly Family[]): Promise<boolean> {
  const { readLabel, readPackageName } = await import('../../core/label/read-label.ts');
  const isFile = await stat(target).then(
    (facts) => facts.isFile(),
    () => false,
  );
  if (isFile) return true;
  if (readLabel(target, families).readings.length > 0) return false;
  return readPackageName(basename(target), families).readings.length > 0 || /\.zip$/i.test(target);
}
