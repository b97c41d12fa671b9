import { wantedTree } from '../core/contents/wanted-tree.ts';
import { makeStickCode } from '../core/manifest/stick-names.ts';
import type { ArchiveFacts } from '../core/model/archive-facts.ts';
import { imageBytesFor } from '../core/plan/space-after.ts';
import type { PrepareReport } from '../core/report/reports.ts';
import type { Digesting } from '../io/digest/digest.ts';
import type { ImagePorts, Ports } from './ports.ts';
import { type PrepareRequest, type PrepareRunning, prepareSticks } from './prepare-sticks.ts';

export interface ImageRequest extends Omit<PrepareRequest, 'targets'> {
  readonly imagePath: string;
  /** Undefined: as small as holds it. */
  readonly imageBytes: number | undefined;
}

export interface PreparedImage {
  readonly report: PrepareReport;
  /** Of the finished image; undefined where there is none. */
  readonly sha256: string | undefined;
}

/**
 * A prepared stick as an image file. Where nothing but the request and the moment (`ports.now`) count, so that the same
 * ones make the same bytes: serial and stick code come from them. An image that is not ready is not left behind.
 */
export async function prepareImage(
  request: ImageRequest,
  ports: Ports & ImagePorts,
  running: PrepareRunning,
): Promise<PreparedImage> {
  const { imagePath, imageBytes, ...rest } = request;
  const facts = await readFacts(request.archivePath, ports);
  const at = ports.now();
  const drawn = drawFrom([facts.directorySha256, request.mode, request.label, at].join('\n'), ports.digesting);
  const image = {
    bytes: imageBytes ?? imageBytesFor(wantedTree(request.mode, facts)),
    volumeSerial: drawn(2 ** 32),
    at,
  };
  const part = await ports.startImage(imagePath, image);
  let sha256: string | undefined;
  try {
    const report = await prepareSticks(
      { ...rest, targets: [part], asImage: true },
      {
        ...ports,
        now: () => at,
        newStickCode: () => makeStickCode(drawn),
        openVolume: (target, access) => ports.openVolume(target, access, { at }),
      },
      running,
    );
    const [stick] = report.sticks;
    if (stick?.state === 'written' && stick.verdict !== 'not-ready') sha256 = await ports.finishImage(imagePath);
    return { report: { ...report, sticks: report.sticks.map((one) => ({ ...one, target: imagePath })) }, sha256 };
  } finally {
    if (sha256 === undefined) await ports.discardImage(imagePath);
  }
}

async function readFacts(path: string, { openArchive }: Ports): Promise<ArchiveFacts> {
  const archive = await openArchive(path);
  await archive.close();
  return archive.facts;
}

/** Whole numbers that look drawn and follow from TEXT. */
function drawFrom(text: string, { sha256 }: Digesting): (below: number) => number {
  let count = 0;
  return (below) => Number.parseInt(sha256(`${text}\n${count++}`).slice(0, 12), 16) % below;
}
