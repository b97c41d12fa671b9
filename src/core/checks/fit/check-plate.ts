import { type Finding, finding } from '../../findings/finding.ts';
import type { PlateReading } from '../../label/find-model-in-plate.ts';

/** What must be said before a model that was picked out of a plate's text is used. */
export function checkPlate(plate: PlateReading): readonly Finding[] {
  const [first] = plate.candidates;
  switch (plate.answer) {
    case 'found':
      return [];
    case 'confirm':
      return first === undefined ? [] : [finding('label/plate-confirm', first.text, pick(first))];
    case 'several':
      return [finding('label/plate-several', 'plate', { candidates: plate.candidates.map(pick) })];
    case 'misread':
      return plate.candidates.map(({ text, misreadOf }) =>
        finding('label/possible-misread', text, {
          candidates: misreadOf.slice(0, 6).map(({ normalised, readings }) => ({
            text: normalised,
            families: readings.map(({ family }) => family.title),
          })),
        }),
      );
    case 'none':
      return [finding('label/plate-none', 'plate')];
  }
}

const pick = ({ text, line, whole }: { text: string; line: number; whole: string }) => ({ text, line, whole });
