import type { Block } from './block.ts';
import type { CardSizes } from './card-sizes.ts';

/** One page of a card. What stands in `foot` goes to its lower edge. */
export interface CardPage {
  readonly sizes: CardSizes;
  readonly body: readonly Block[];
  readonly foot: readonly Block[];
}
