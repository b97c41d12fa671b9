import type { Mode } from '../../core/model/mode.ts';
import { nodeDigesting } from '../../io/digest/node-digest.ts';
import { isSignedBy, readTrustedKey } from '../../io/files/desk-key.ts';
import { auditMediumAt } from '../../io/medium/audit-medium-at.ts';
import { openVolume } from '../../io/volume/open-volume.ts';
import { serialise } from '../../render/json/serialise.ts';
import { verifyDocument } from '../../render/json/to-json.ts';
import type { Ports } from '../../workflows/ports.ts';
import { verifyStick } from '../../workflows/verify-stick.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { watchInterruption } from '../interruption.ts';
import { startProgress } from '../progress.ts';
import { lookOf, say } from '../screen.ts';

export interface VerifyOptions {
  readonly label?: string | undefined;
  readonly mode?: Mode | undefined;
  readonly quick?: true | undefined;
  readonly replugged?: true | undefined;
  readonly sealFrom?: string | undefined;
  readonly json?: true | undefined;
}

/** Most sticks hold nothing but what the manifest names. */
const lookInto: Ports['lookInto'] = async (volume, files, signal) =>
  files.length === 0 ? new Map() : (await import('../../io/archive/look-into.ts')).lookIntoFiles(volume, files, signal);

export async function runVerify(target: string, options: VerifyOptions): Promise<number> {
  const interruption = watchInterruption(process.stderr);
  const progress = startProgress(process.stderr, { quiet: options.json === true });
  try {
    const request = {
      target,
      label: options.label,
      mode: options.mode,
      quick: options.quick === true,
      replugged: options.replugged === true,
      sealFrom: options.sealFrom === undefined ? undefined : readTrustedKey(options.sealFrom),
    };
    const running = { tell: progress.tell, signal: interruption.signal };
    const report = await verifyStick(
      request,
      { openVolume, digesting: nodeDigesting, isSignedBy, auditMedium: auditMediumAt, lookInto },
      running,
    );
    progress.end();
    const exitCode = exitCodeOf(report.verdict);
    await say(
      options.json
        ? serialise(verifyDocument(report, exitCode))
        : (await import('../../render/text/render-report.ts')).renderVerify(
            report,
            lookOf(process.stdout, process.env),
          ),
    );
    return exitCode;
  } finally {
    progress.end();
    interruption.end();
  }
}
