import { keyName } from '../../core/manifest/build-manifest.ts';
import type { SealSeen } from '../../core/report/window-talk.ts';
import { nodeDigesting } from '../digest/node-digest.ts';
import { keyFiles, newDeskKey, noDeskKey, readDeskKey } from './desk-key.ts';

type Environment = Readonly<Record<string, string | undefined>>;

/** As `newDeskKey`: never overwrites one. */
export function makeSeal(environment: Environment): SealSeen {
  const files = keyFiles(environment);
  return { name: nameOf(newDeskKey(files).publicKey), ...files };
}

/** The key that this desk has; undefined where it has none. Throws as `readDeskKey`. */
export function sealOf(environment: Environment): SealSeen | undefined {
  const files = keyFiles(environment);
  const key = readDeskKey(files);
  return key === undefined ? undefined : { name: nameOf(key.publicKey), ...files };
}

/** The same, where a desk must have one. Throws `file/not-found`. */
export function expectSeal(environment: Environment): SealSeen {
  const seal = sealOf(environment);
  if (seal === undefined) throw noDeskKey(keyFiles(environment).privatePath);
  return seal;
}

const nameOf = (publicKey: string): string => keyName(nodeDigesting.sha256(publicKey));
