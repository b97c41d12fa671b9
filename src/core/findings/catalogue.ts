import type { CatalogueEntry } from '../model/catalogue-entry.ts';
import { archiveFindings } from './catalogue/archive.ts';
import { cardsFindings } from './catalogue/cards.ts';
import { driveFindings } from './catalogue/drive.ts';
import { fitFindings } from './catalogue/fit.ts';
import { mediumFindings } from './catalogue/medium.ts';
import { planFindings } from './catalogue/plan.ts';
import { pocketFindings } from './catalogue/pocket.ts';
import { recordFindings } from './catalogue/record.ts';
import { returnedFindings } from './catalogue/returned.ts';
import { roomFindings } from './catalogue/room.ts';
import { roundFindings } from './catalogue/round.ts';
import { shelfFindings } from './catalogue/shelf.ts';
import { stickContentsFindings, stickFindings } from './catalogue/stick.ts';
import { updateFindings } from './catalogue/update.ts';
import { verifyContentsFindings, verifyFindings } from './catalogue/verify.ts';

/** Every finding there is. A code is `area/kebab-case` and is never reused for another meaning. */
export const catalogue = {
  ...archiveFindings,
  ...updateFindings,
  ...fitFindings,
  ...driveFindings,
  ...stickFindings,
  ...stickContentsFindings,
  ...mediumFindings,
  ...planFindings,
  ...verifyFindings,
  ...verifyContentsFindings,
  ...returnedFindings,
  ...shelfFindings,
  ...cardsFindings,
  ...roomFindings,
  ...roundFindings,
  ...recordFindings,
  ...pocketFindings,
};

export type FindingCode = keyof typeof catalogue;

export type FactsOf<Code extends FindingCode> =
  (typeof catalogue)[Code] extends CatalogueEntry<infer Facts> ? Facts : never;

/** A catalogue entry whose facts are not known statically; for renderers. */
export const entryOf = (code: FindingCode): CatalogueEntry<never> => catalogue[code] as CatalogueEntry<never>;

export const isFindingCode = (text: string): text is FindingCode => Object.hasOwn(catalogue, text);
