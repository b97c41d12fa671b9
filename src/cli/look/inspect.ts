import { familiesFor, portsOfDesk, signersFor } from '../desk.ts';
import { labelAsMeant } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
import { expected, expectedBytes, family, json, signer } from '../words.ts';

export const inspect = command({
  words: (it) =>
    it
      .description(
        'Reads the whole archive once and says what it is, whether it is sound, and whether it fits a label.',
      )
      .argument('<archive>', 'the downloaded firmware archive')
      .option('-l, --label <text>', "the label on the panel's back, as it is printed")
      .addOption(family())
      .addOption(signer())
      .addOption(expected('sha256'))
      .addOption(expected('sha512'))
      .addOption(expected('sha1'))
      .addOption(expected('md5'))
      .addOption(expectedBytes())
      .addOption(json()),
  examples: ['stickwright inspect reed.1717_5B_second_K2.zip --label "K2-second 75/5B" --family families/'],
  run: async (archivePath, options, frame) => {
    const { readExpectedBytes, readExpectedHashes } = await import('../read-words.ts');
    const { inspectArchive } = await import('../../workflows/inspect-archive.ts');
    const { expectNamedFile } = await import('../../io/files/standard-input.ts');
    const known = await familiesFor(options.family);
    const request = {
      archivePath: expectNamedFile(archivePath),
      claims: readExpectedHashes(options),
      expectBytes: readExpectedBytes(options.expectBytes),
      ...known,
      trusted: await signersFor(options.signer),
      label: await labelAsMeant(options.label, known.families, frame),
    };
    return await inspectArchive(request, await portsOfDesk(), frame.atWork());
  },
  text: async (report, look) => (await import('../../render/text/render-report.ts')).renderInspect(report, look),
  json: async (report, exitCode) => (await import('../../render/json/to-json.ts')).inspectDocument(report, exitCode),
});
