import { readOtherGeometry } from '../fat-root.ts';
import { chainEnds } from '../fat-table.ts';
import { readAt, type SectorReader } from '../sector-reader.ts';

export interface ExfatGeometry {
  readonly sectorBytes: number;
  readonly clusterBytes: number;
  /** Of the table in use. */
  readonly fatAt: number;
  /** Which of two tables and bitmaps is in use: 0 or 1. */
  readonly active: number;
  readonly heapAt: number;
  readonly clusters: number;
  readonly rootCluster: number;
  readonly serial: number;
  readonly flags: number;
  /** Undefined where the volume says that it does not know. */
  readonly percentInUse: number | undefined;
}

/** Section 3.1, field by field within the bounds that each one's own section sets; a text says which is out of them. */
export function readExfatGeometry(boot: Uint8Array, sizeBytes: number): ExfatGeometry | string {
  const geometry = readOtherGeometry('exfat', boot);
  if (geometry === undefined) return 'its sector, cluster or volume size is out of bounds';
  const { sectorBytes, clusterBytes, volumeBytes } = geometry;
  const view = new DataView(boot.buffer, boot.byteOffset, 512);
  // 3.1.3
  if (boot.subarray(11, 64).some((byte) => byte !== 0)) return 'the space of an old parameter block is not empty';
  if (view.getUint16(510, true) !== 0xaa55) return 'its signature is missing';
  if (volumeBytes > sizeBytes) return `it states ${volumeBytes} bytes, but only ${sizeBytes} are there`;
  const fatAt = view.getUint32(80, true) * sectorBytes;
  const fatBytes = view.getUint32(84, true) * sectorBytes;
  const heapAt = view.getUint32(88, true) * sectorBytes;
  const clusters = view.getUint32(92, true);
  const rootCluster = view.getUint32(96, true);
  const flags = view.getUint16(106, true);
  const copies = view.getUint8(110);
  if (copies < 1 || copies > 2) return `it states ${copies} copies of the allocation table`;
  // 3.1.6
  if (fatAt < 24 * sectorBytes || fatAt + fatBytes * copies > heapAt) return 'its allocation table lies in other areas';
  if (clusters === 0 || heapAt + clusters * clusterBytes > volumeBytes)
    return `it states ${clusters} clusters, more than fit`;
  if ((clusters + 2) * 4 > fatBytes) return 'its allocation table is too small';
  // 3.1.10
  if (rootCluster < 2 || rootCluster > clusters + 1) return `its root folder starts at cluster ${rootCluster}`;
  if (view.getUint8(105) !== 1) return 'it is of an unknown revision'; // 3.1.12
  const active = copies === 2 ? flags & 1 : 0; // ActiveFat, 3.1.13.1
  const percent = view.getUint8(112);
  return {
    sectorBytes,
    clusterBytes,
    fatAt: fatAt + active * fatBytes,
    active,
    heapAt,
    clusters,
    rootCluster,
    serial: view.getUint32(100, true),
    flags,
    percentInUse: percent <= 100 ? percent : undefined,
  };
}

/** What is stored in clusters: a file, a folder, or one of the volume's own tables. */
export interface Allocation {
  readonly start: number;
  readonly bytes: number;
  /** NoFatChain (6.3.4.2): one run of clusters; what the allocation table says of them means nothing. */
  readonly contiguous: boolean;
}

/** Chains of an exFAT volume, one step at a time. */
export class ExfatVolume {
  readonly geometry: ExfatGeometry;
  readonly reader: SectorReader;
  readonly #table: Pages;

  constructor(reader: SectorReader, geometry: ExfatGeometry) {
    this.reader = reader;
    this.geometry = geometry;
    this.#table = new Pages(reader, 4096, (page) => geometry.fatAt + page * 4096);
  }

  isCluster(cluster: number): boolean {
    return cluster >= 2 && cluster < this.geometry.clusters + 2;
  }

  /** Section 4.1.3: the next cluster, or one of `chainEnds`. A cluster that no chain uses may hold anything. */
  step(cluster: number): number {
    const value = this.#table.view(cluster * 4).getUint32((cluster * 4) % 4096, true);
    if (value === 0xffffffff) return chainEnds.end;
    if (value === 0xfffffff7) return chainEnds.bad;
    return this.isCluster(value) ? value : chainEnds.invalid;
  }

  /** As many clusters as the allocation's BYTES take, or until its chain ends; a chain that runs in a circle, too. */
  *clustersOf({ start, bytes, contiguous }: Allocation): Iterable<number> {
    const count = Math.min(this.geometry.clusters, Math.ceil(bytes / this.geometry.clusterBytes));
    let cluster = start;
    for (let index = 0; index < count && this.isCluster(cluster); index++) {
      yield cluster;
      cluster = contiguous ? cluster + 1 : this.step(cluster);
    }
  }

  /** The allocation's bytes, in pieces of at most 1 MiB; the last one may be longer than the rest. */
  *piecesOf(allocation: Allocation): Iterable<Uint8Array> {
    const { clusterBytes, heapAt } = this.geometry;
    const step = Math.min(clusterBytes, 2 ** 20);
    let left = allocation.bytes;
    for (const cluster of this.clustersOf(allocation)) {
      const start = heapAt + (cluster - 2) * clusterBytes;
      for (let done = 0; done < clusterBytes && left > 0; done += step, left -= step)
        yield readAt(this.reader, start + done, step);
    }
  }
}

/** Section 7.1.5: one bit a cluster, lowest bit first; set where it is not to be given away. */
export class AllocationBitmap {
  readonly #pages: Pages;
  readonly #pageBytes: number;
  /** All of it is there. */
  readonly isWhole: boolean;

  constructor(volume: ExfatVolume, allocation: Allocation) {
    const { clusters, clusterBytes, heapAt } = volume.geometry;
    const needed = Math.ceil(clusters / 8);
    const places = [...volume.clustersOf({ ...allocation, bytes: needed })];
    this.isWhole = places.length * clusterBytes >= needed;
    const pageBytes = Math.min(clusterBytes, 4096);
    const perCluster = clusterBytes / pageBytes;
    this.#pageBytes = pageBytes;
    this.#pages = new Pages(volume.reader, pageBytes, (page) => {
      const cluster = places[Math.floor(page / perCluster)] ?? 2;
      return heapAt + (cluster - 2) * clusterBytes + (page % perCluster) * pageBytes;
    });
  }

  has(cluster: number): boolean {
    return ((this.byte((cluster - 2) >>> 3) >>> ((cluster - 2) & 7)) & 1) === 1;
  }

  byte(index: number): number {
    return this.#pages.view(index).getUint8(index % this.#pageBytes);
  }
}

/** Most chains go straight on, and a page that is gone is read again. */
const mostPages = 64;

/** A bounded number of pages of something that lies in sectors. */
class Pages {
  readonly #reader: SectorReader;
  readonly #pageBytes: number;
  readonly #placeOf: (page: number) => number;
  readonly #kept = new Map<number, DataView>();
  #latest: { readonly page: number; readonly view: DataView } | undefined;

  constructor(reader: SectorReader, pageBytes: number, placeOf: (page: number) => number) {
    this.#reader = reader;
    this.#pageBytes = pageBytes;
    this.#placeOf = placeOf;
  }

  /** The page in which the byte AT lies. */
  view(at: number): DataView {
    const page = Math.floor(at / this.#pageBytes);
    if (this.#latest?.page === page) return this.#latest.view;
    const view = this.#kept.get(page) ?? this.#read(page);
    this.#latest = { page, view };
    return view;
  }

  #read(page: number): DataView {
    const [oldest] = this.#kept.keys();
    if (this.#kept.size >= mostPages && oldest !== undefined) this.#kept.delete(oldest);
    const bytes = new Uint8Array(this.#pageBytes);
    bytes.set(readAt(this.#reader, this.#placeOf(page), this.#pageBytes));
    const view = new DataView(bytes.buffer);
    this.#kept.set(page, view);
    return view;
  }
}
