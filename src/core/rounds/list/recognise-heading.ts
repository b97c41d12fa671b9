import { type RoomField, roomFields } from '../../model/room.ts';
import { headingWords } from './heading-words.ts';
import { normaliseHeading, withoutBrackets } from './normalise-heading.ts';

export interface HeadingReading {
  readonly field: RoomField;
  /** `hint`: a usual heading stands in it among other words; good for a suggestion, not for a decision. */
  readonly strength: 'sure' | 'likely' | 'hint';
}

const strengthOf = new Map<string, HeadingReading[]>();
for (const field of roomFields) {
  for (const strength of ['sure', 'likely'] as const) {
    for (const word of headingWords[field][strength]) {
      const key = normaliseHeading(word);
      const known = strengthOf.get(key) ?? [];
      // Several languages share a word.
      if (!known.some((one) => one.field === field)) strengthOf.set(key, [...known, { field, strength }]);
    }
  }
}

/** What a heading usually stands for; nothing where it is unknown or stands for two fields alike. */
export function recogniseHeading(heading: string): HeadingReading | undefined {
  for (const text of [heading, withoutBrackets(heading)]) {
    const readings = strengthOf.get(normaliseHeading(text)) ?? [];
    const sure = readings.filter(({ strength }) => strength === 'sure');
    const best = sure.length > 0 ? sure : readings;
    if (best.length === 1) return best[0];
    if (best.length > 1) return undefined;
  }
  return hintIn(heading);
}

function hintIn(heading: string): HeadingReading | undefined {
  const words = normaliseHeading(heading).split(' ');
  if (words.length > 8) return undefined;
  const fields = new Set(
    words.flatMap((word) =>
      (strengthOf.get(word) ?? []).filter(({ strength }) => strength === 'sure').map(({ field }) => field),
    ),
  );
  const [field] = fields;
  return field !== undefined && fields.size === 1 ? { field, strength: 'hint' } : undefined;
}
