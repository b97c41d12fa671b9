import { readSigners } from '../../io/update-package/read-signers.ts';
import { serialise } from '../../render/json/serialise.ts';
import { inspectDocument } from '../../render/json/to-json.ts';
import { renderInspect } from '../../render/text/render-report.ts';
import { inspectArchive } from '../../workflows/inspect-archive.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { watchInterruption } from '../interruption.ts';
import { keepHeapSmall } from '../keep-heap-small.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { makePorts } from '../make-ports.ts';
import { startProgress } from '../progress.ts';
import { readExpectedBytes } from '../read-expected-bytes.ts';
import { type ExpectedHashes, readExpectedHashes } from '../read-expected-hashes.ts';
import { lookOf, say } from '../screen.ts';

export interface InspectOptions extends ExpectedHashes {
  readonly label?: string | undefined;
  readonly expectBytes?: string | undefined;
  readonly family: readonly string[];
  readonly signer: readonly string[];
  readonly json?: true | undefined;
}

export async function runInspect(archivePath: string, options: InspectOptions): Promise<number> {
  const claims = readExpectedHashes(options);
  const expectBytes = readExpectedBytes(options.expectBytes);
  const { families, familiesNamed } = await loadFamiliesFor(options.family);
  const trusted = (await Promise.all(options.signer.map(readSigners))).flat();
  const interruption = watchInterruption(process.stderr);
  keepHeapSmall();
  const progress = startProgress(process.stderr, { quiet: options.json === true });
  try {
    const request = { archivePath, families, familiesNamed, trusted, claims, expectBytes, label: options.label };
    const report = await inspectArchive(request, makePorts(), { tell: progress.tell, signal: interruption.signal });
    progress.end();
    const exitCode = exitCodeOf(report.verdict);
    await say(
      options.json
        ? serialise(inspectDocument(report, exitCode))
        : renderInspect(report, lookOf(process.stdout, process.env)),
    );
    return exitCode;
  } finally {
    progress.end();
    interruption.end();
  }
}
