import { findMedium, listLosses } from '../../io/format/find-medium.ts';
import { proveFreeSpace } from '../../io/prove/prove-free-space.ts';
import { newSeed, proveMedium } from '../../io/prove/prove-medium.ts';
import { openVolume } from '../../io/volume/open-volume.ts';
import { serialise } from '../../render/json/serialise.ts';
import { proveDocument } from '../../render/json/stick-documents.ts';
import { renderMedium, renderProof } from '../../render/text/render-format.ts';
import { proveStick } from '../../workflows/format-stick.ts';
import type { ProvePorts } from '../../workflows/ports.ts';
import { agreeToErase } from '../agree-to-erase.ts';
import { exitCodeOf, exitCodes } from '../exit-codes.ts';
import { watchInterruption } from '../interruption.ts';
import { keepHeapSmall } from '../keep-heap-small.ts';
import { startProgress } from '../progress.ts';
import { lookOf, say } from '../screen.ts';

export interface ProveOptions {
  readonly freeSpace?: true | undefined;
  readonly sample?: true | undefined;
  readonly driveSize?: string | undefined;
  readonly yes?: true | undefined;
  readonly json?: true | undefined;
}

const ports: ProvePorts = {
  findMedium,
  listLosses,
  openVolume,
  proveMedium,
  proveFreeSpace: (volume, running) => proveFreeSpace(volume, { ...running, seed: newSeed() }),
};

export async function runProve(target: string, options: ProveOptions): Promise<number> {
  const how = options.freeSpace ? 'free-space' : options.sample ? 'sample' : 'whole';
  const look = lookOf(process.stdout, process.env);
  const interruption = watchInterruption(process.stderr);
  keepHeapSmall();
  const progress = startProgress(process.stderr, { quiet: options.json === true });
  try {
    const report = await proveStick({ target, how }, ports, {
      tell: progress.tell,
      signal: interruption.signal,
      propose: async (medium, losses) => {
        if (!options.json) await say(`${renderMedium(medium, losses, look)}\n`);
      },
      agree: (medium) => agreeToErase(medium, options),
    });
    progress.end();
    const exitCode = interruption.signal.aborted ? exitCodes.interrupted : exitCodeOf(report.verdict);
    await say(options.json ? serialise(proveDocument(report, exitCode)) : renderProof(report, look));
    return exitCode;
  } finally {
    progress.end();
    interruption.end();
  }
}
