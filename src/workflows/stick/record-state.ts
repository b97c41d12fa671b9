import { checkRecordFiles } from '../../core/checks/verify/check-record.ts';
import type { Finding } from '../../core/findings/finding.ts';
import { decisionsOf, keyName, sealedText } from '../../core/manifest/build-manifest.ts';
import { recordNamedBy } from '../../core/manifest/record-files.ts';
import type { Manifest } from '../../core/model/manifest.ts';
import type { StickEntry } from '../../core/model/stick-facts.ts';
import type { Volume } from '../../io/volume/volume.ts';
import type { Ports } from '../ports.ts';
import { contentOf, digestFiles } from './digest-files.ts';
import { isReadFault, readSeal } from './survey-stick.ts';

/** Whether all that lies beside the firmware is as this run would write it, as far as is KNOWN, so that nothing of it need be written. */
export async function isRecordCurrent(
  volume: Volume,
  entries: readonly StickEntry[],
  manifest: Manifest,
  known: readonly Finding[],
  ports: Pick<Ports, 'deskKey' | 'isSignedBy' | 'digesting'>,
): Promise<boolean> {
  if (manifest.schema !== 'stickwright/manifest/2') return false;
  const { overrides, unproven } = decisionsOf(known);
  // A doubt may be settled now, or be a new one: only the pass over the archive will tell.
  if (manifest.unproven.length > 0 || unproven.length > 0) return false;
  if (JSON.stringify(manifest.overrides.map(inWords)) !== JSON.stringify(overrides.map(inWords))) return false;
  return (
    (await isSealedAsItSays(volume, entries, manifest, ports)) &&
    (await areRecordFilesWhole(volume, entries, manifest, ports))
  );
}

const inWords = ({ code, subject, because }: Manifest['overrides'][number]) => [code, subject, because];

/** Without a key of its own a desk leaves the seal of another one. */
async function isSealedAsItSays(
  volume: Volume,
  entries: readonly StickEntry[],
  manifest: Manifest & { readonly sealedBy: string | null },
  { deskKey, isSignedBy, digesting }: Pick<Ports, 'deskKey' | 'isSignedBy' | 'digesting'>,
): Promise<boolean> {
  const reading = await readSeal(volume, entries);
  if (reading.state === 'none') return deskKey === undefined && manifest.sealedBy === null;
  if (reading.state === 'broken') return false;
  const { publicKey, signature } = reading.seal;
  return (
    (deskKey === undefined || publicKey === deskKey.publicKey) &&
    manifest.sealedBy === keyName(digesting.sha256(publicKey)) &&
    isSignedBy(publicKey, sealedText(manifest), signature)
  );
}

async function areRecordFilesWhole(
  volume: Volume,
  entries: readonly StickEntry[],
  manifest: Manifest,
  { digesting }: Pick<Ports, 'digesting'>,
): Promise<boolean> {
  const named = recordNamedBy(manifest, digesting.sha256);
  if (checkRecordFiles(named, entries).length > 0) return false;
  const outcomes = await digestFiles(volume, named, { digesting });
  return named.every(({ sha256 }, index) => isThat(outcomes[index], sha256));
}

function isThat(outcome: Parameters<typeof contentOf>[0], sha256: string): boolean {
  if (outcome !== undefined && 'error' in outcome && isReadFault(outcome.error)) return false;
  return contentOf(outcome).sha256 === sha256;
}
