import { withOwnDigest } from '../../core/documents/own-digest.ts';
import type { Finding } from '../../core/findings/finding.ts';
import {
  buildManifest,
  keyName,
  makeSeal,
  sealedText,
  serialiseManifest,
  serialiseSeal,
} from '../../core/manifest/build-manifest.ts';
import { stickRecordFiles, stickRecordTexts } from '../../core/manifest/record-files.ts';
import {
  manifestPath,
  newManifestName,
  parentOf,
  sealName,
  stagingFolder,
  stickRecordFolder,
  toolFolder,
} from '../../core/manifest/stick-names.ts';
import type { Manifest, ManifestFile, Seal } from '../../core/model/manifest.ts';
import type { StickEntry } from '../../core/model/stick-facts.ts';
import { hasCode } from '../../core/model/tool-error.ts';
import { groupBy } from '../../core/text/words.ts';
import type { Digesting } from '../../io/digest/digest.ts';
import { notAsWritten, type ReadBackKind, type Volume } from '../../io/volume/volume.ts';
import type { Job, Ports } from '../ports.ts';
import type { StickPlan } from './plan-stick.ts';
import { contentOf, digestFiles } from './read-back.ts';

interface Done {
  readonly job: Job;
  readonly planned: StickPlan;
  readonly archiveSha256: string;
  readonly files: readonly ManifestFile[];
  readonly findings: readonly Finding[];
  readonly readBack: ReadBackKind;
}

interface StickRecord {
  readonly manifest: Manifest;
  /** Undefined where the desk has no key. */
  readonly seal: Seal | undefined;
}

/** What is written beside the firmware. The code on the stick's tag stays the same for the same stick. */
export function makeStickRecord(
  { job, planned, archiveSha256, files, findings, readBack }: Done,
  { newStickCode, now, toolVersion, digesting, deskKey }: Ports,
): StickRecord {
  const described = buildManifest({
    stickCode: planned.survey.known?.manifest.stick ?? newStickCode(),
    preparedAt: now(),
    toolVersion,
    plan: planned.plan,
    rules: job.rules,
    label: job.label,
    package: job.package,
    archive: job.archive,
    archiveSha256,
    files,
    folders: job.wanted.folders,
    stick: planned.survey.facts,
    findings,
    readBack,
  });
  const record = [...stickRecordFiles(described, digesting.sha256)];
  const sealedBy = deskKey === undefined ? null : keyName(digesting.sha256(deskKey.publicKey));
  const manifest = withOwnDigest({ ...described, record, sealedBy }, digesting.sha256);
  const seal = deskKey === undefined ? undefined : makeSeal(deskKey.publicKey, deskKey.sign(sealedText(manifest)));
  return { manifest, seal };
}

/**
 * A mounted volume's driver may lose what is in a folder that it renames (fusefat 0.1a-3 does), so there only files are
 * moved.
 */
const renamesFolders = ({ facts }: Volume): boolean => facts.kind !== 'folder';

/**
 * Gives what lies in the staging folder its final names. A whole folder moves with one rename where that can be trusted
 * and nothing of that name is there yet; otherwise what is in it moves. On the medium when it returns.
 */
export async function giveFinalNames(volume: Volume): Promise<void> {
  const entries = await volume.entries();
  const present = new Set(entries.map(({ path }) => path));
  const inside = groupBy(entries, ({ path }) => parentOf(path));
  for (const entry of inside.get(stagingFolder) ?? []) await moveIntoPlace(volume, entry, { present, inside });
  await volume.flush();
  if (present.has(stagingFolder)) await volume.removeFolder(stagingFolder);
  await volume.flush();
}

/** What was on the stick before the first move: all paths, and the entries by their folder. */
interface Under {
  readonly present: ReadonlySet<string>;
  readonly inside: ReadonlyMap<string, readonly StickEntry[]>;
}

async function moveIntoPlace(volume: Volume, entry: StickEntry, under: Under): Promise<void> {
  const { present, inside } = under;
  const final = entry.path.slice(stagingFolder.length + 1);
  if (entry.kind === 'file' || (!present.has(final) && renamesFolders(volume))) {
    await volume.rename(entry.path, final);
    return;
  }
  if (!present.has(final)) await volume.makeFolder(final);
  for (const child of inside.get(entry.path) ?? []) await moveIntoPlace(volume, child, under);
  await volume.removeFolder(entry.path);
}

/**
 * Writes manifest, checksum list and note into a folder of their own, flushes and reads them back. The manifest does
 * not count yet: it has another name. Throws ToolError `stick/read-failed` where they do not come back as written.
 */
export async function writeStickRecord(
  volume: Volume,
  manifest: Manifest,
  seal: Seal | undefined,
  digesting: Digesting,
): Promise<void> {
  // Made one after the other and not kept: with thousands of files, those of several sticks at once would take much
  // memory.
  const texts: readonly (readonly [string, () => string])[] = [
    ...stickRecordTexts(manifest),
    ...(seal === undefined ? [] : [[sealName, () => serialiseSeal(seal)] as const]),
    [newManifestName, () => serialiseManifest(manifest)],
  ];
  await ensureRecordFolder(volume);
  const written: { readonly path: string; readonly bytes: number; readonly sha256: string }[] = [];
  for (const [name, textOf] of texts) {
    const text = textOf();
    const path = `${stickRecordFolder}/${name}`;
    written.push({ path, bytes: await writeText(volume, path, text), sha256: digesting.sha256(text) });
  }
  await volume.flush();
  const outcomes = await digestFiles(volume, written, { digesting });
  for (const [index, { path, sha256 }] of written.entries()) {
    if (contentOf(outcomes[index]).sha256 !== sha256) {
      throw notAsWritten(path);
    }
  }
}

/** One that a cut-off run left is used again. */
async function ensureRecordFolder(volume: Volume): Promise<void> {
  try {
    await volume.makeFolder(stickRecordFolder);
  } catch (error) {
    if (!hasCode(error, 'stick/name-taken')) throw error;
  }
}

/**
 * Gives the record its place, and then, where what was written did no harm, the manifest its name: the last write, and
 * the one that makes the stick say what it is. Whether it did.
 */
export async function publishStickRecord(volume: Volume, isUnharmed: () => Promise<boolean>): Promise<boolean> {
  if (renamesFolders(volume)) await volume.rename(stickRecordFolder, toolFolder);
  else await moveRecord(volume);
  await volume.flush();
  if (!(await isUnharmed())) return false;
  await volume.rename(`${toolFolder}/${newManifestName}`, manifestPath);
  await volume.flush();
  return true;
}

async function moveRecord(volume: Volume): Promise<void> {
  await volume.makeFolder(toolFolder);
  for (const { path } of await volume.entries(stickRecordFolder))
    await volume.rename(path, `${toolFolder}${path.slice(stickRecordFolder.length)}`);
  await volume.removeFolder(stickRecordFolder);
}

/** Returns how many bytes that were. */
async function writeText(volume: Volume, path: string, text: string): Promise<number> {
  const bytes = new TextEncoder().encode(text);
  const writer = await volume.create(path, bytes.byteLength);
  try {
    await writer.write(bytes);
  } finally {
    await writer.close();
  }
  return bytes.byteLength;
}
