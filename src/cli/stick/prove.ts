import { Option } from '@commander-js/extra-typings';
import { agreeToErase } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
import { exitCodeOf, exitCodes } from '../frame/exit-codes.ts';
import { interruptedBy } from '../frame/interruption.ts';
import { json, untried } from '../words.ts';

export const prove = command({
  words: (it) =>
    it
      .description(
        'Writes a pattern and reads it back: false capacity, bad and unstable places, true size, speed. Erases the whole stick, unless --free-space is given. Ctrl-C stops it; the same command goes on.',
      )
      .argument('<target>', 'removable USB drive as a whole, or an image file; with --free-space also a mounted folder')
      .addOption(
        new Option(
          '--free-space',
          'only the free part; no file is touched, but on a false stick files may already be lost',
        ).conflicts('sample'),
      )
      .option('--sample', 'a quick answer from some hundred places, which erases the stick too')
      .option('--drive-size <text>', "the drive's size, typed to say that this is the one to erase; for scripts")
      .option('-y, --yes', 'agree in advance that an image file is erased')
      .addOption(untried())
      .addOption(json()),
  examples: ['stickwright prove /dev/sdb', 'stickwright prove /media/stick --free-space'],
  run: async (target, options, frame) => {
    const { findMedium, listLosses } = await import('../../io/format/find-medium.ts');
    const { proveFreeSpace } = await import('../../io/prove/prove-free-space.ts');
    const { newSeed, proveMedium } = await import('../../io/prove/prove-medium.ts');
    const { openVolume } = await import('../../io/volume/open-volume.ts');
    const { renderMedium } = await import('../../render/text/render-format.ts');
    const { proveStick } = await import('../../workflows/format-stick.ts');
    const how = options.freeSpace ? 'free-space' : options.sample ? 'sample' : 'whole';
    return await proveStick(
      { target, how },
      {
        findMedium,
        listLosses,
        openVolume,
        proveMedium,
        proveFreeSpace: (volume, running) => proveFreeSpace(volume, { ...running, seed: newSeed() }),
      },
      {
        ...frame.atWork(),
        propose: (medium, losses) => frame.show(`${renderMedium(medium, losses, frame.look)}\n`),
        agree: (medium) => agreeToErase(medium, options, frame),
      },
    );
  },
  exitCode: ({ verdict }) => (interruptedBy() === undefined ? exitCodeOf(verdict) : exitCodes.interrupted),
  text: async (report, look) => (await import('../../render/text/render-format.ts')).renderProof(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/stick-documents.ts')).proveDocument(report, exitCode),
});
