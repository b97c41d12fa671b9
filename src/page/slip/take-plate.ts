import { write } from '../state.ts';

/** More is no plate. */
const longestPlate = 10_000;

/** Writes down what stands on a plate as a whole; of several lines the slip asks which one is the model. */
export const takePlate = (text: string): void => write({ label: text.trim().slice(0, longestPlate) });
