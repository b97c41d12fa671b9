import { asBefore, type DeskEvent, type WorkSeen, type WorkTold } from '../core/report/window-talk.ts';

export type Hear = (event: DeskEvent) => void;

/** A page, and what it was told last of each piece of work. */
interface Page {
  readonly hear: Hear;
  has: ReadonlyMap<string, WorkSeen>;
}

/** The pages that are open now: each hears everything, and no plan or answer twice. */
export class Pages {
  readonly #open = new Set<Page>();

  /** HEAR is told how the work stands, and every event from now on; ends with what it returns. */
  open(hear: Hear, seen: readonly WorkSeen[]): () => void {
    const page: Page = { hear, has: new Map() };
    tellWorkTo(page, seen);
    this.#open.add(page);
    return () => this.#open.delete(page);
  }

  tell(event: DeskEvent): void {
    for (const { hear } of this.#open) hear(event);
  }

  tellWork(seen: readonly WorkSeen[]): void {
    for (const page of this.#open) tellWorkTo(page, seen);
  }
}

function tellWorkTo(page: Page, seen: readonly WorkSeen[]): void {
  page.hear({ event: 'work', work: seen.map((one) => toldTo(page, one)) });
  page.has = new Map(seen.map((one) => [one.id, one]));
}

function toldTo({ has }: Page, one: WorkSeen): WorkTold {
  const had = has.get(one.id);
  return {
    ...one,
    proposal: one.proposal !== undefined && one.proposal === had?.proposal ? asBefore : one.proposal,
    answer: one.answer !== undefined && one.answer === had?.answer ? asBefore : one.answer,
  };
}
