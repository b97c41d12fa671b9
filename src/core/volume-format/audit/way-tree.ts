import { foldName } from '../fat-name.ts';
import { type ExampleKind, type Flaw, FlawCounter } from './flaw.ts';

/** What somebody relies on, by path; what is not there is passed over. */
export interface WaysAsked {
  /** Firmware, files and folders: a panel looks for it by name. */
  readonly firmware: readonly string[];
  /** What tells any machine whether the firmware is whole. */
  readonly record: readonly string[];
  /** Whoever asks makes the tables alike where the root grew (`findRootBehind`): no flaw, but nothing there is kept. */
  readonly mendsRoot?: boolean;
}

export interface WayNode {
  readonly below: Map<string, WayNode>;
  /** As they were asked for. */
  readonly asked: string[];
  isFirmware: boolean;
}

/** The paths that were asked for and the folders above them, and what is doubted of each. */
export class WayTree {
  readonly root: WayNode = newNode();
  readonly #counter = new FlawCounter();
  readonly #doubtful = new Set<string>();
  readonly #said = new Set<string>();

  constructor({ firmware, record }: WaysAsked) {
    for (const path of firmware) this.#ask(path, true);
    for (const path of record) this.#ask(path, false);
  }

  get flaws(): readonly Flaw[] {
    return this.#counter.flaws();
  }

  /**
   * Paths as they were asked for, to which something leads that is not as it must be; and folders above them that are
   * the cause.
   */
  get doubtful(): readonly string[] {
    return [...this.#doubtful];
  }

  /** Undefined unless PATH was asked for, or lies above something that was. */
  find(path: string): WayNode | undefined {
    let node: WayNode | undefined = this.root;
    for (const part of foldName(path).split('/')) if (part !== '') node = node?.below.get(part);
    return node;
  }

  /** Once for each path and kind. */
  doubt(kind: ExampleKind, path: string, node: WayNode): void {
    const key = `${kind} ${path}`;
    if (this.#said.has(key)) return;
    this.#said.add(key);
    this.#counter.add(kind, path);
    this.distrust(path, node);
  }

  /** What is asked for there and below it leads nowhere for sure. */
  distrust(path: string, node: WayNode): void {
    if (node.asked.length === 0) this.#doubtful.add(path.replace(/^\/(?=.)/, ''));
    this.distrustBelow(node);
  }

  distrustBelow(node: WayNode): void {
    const all = [node];
    for (let next = all.pop(); next !== undefined; next = all.pop()) {
      for (const asked of next.asked) this.#doubtful.add(asked);
      all.push(...next.below.values());
    }
  }

  #ask(path: string, isFirmware: boolean): void {
    let node = this.root;
    for (const part of foldName(path).split('/')) {
      const next = node.below.get(part) ?? newNode();
      node.below.set(part, next);
      next.isFirmware ||= isFirmware;
      node = next;
    }
    node.asked.push(path);
  }
}

const newNode = (): WayNode => ({ below: new Map(), asked: [], isFirmware: false });

/** FAT's DIR_Attr and exFAT's FileAttributes (7.4.4): 0x02 hidden, 0x04 system. */
export const hiddenOrSystem = 0x06;
