import { type Finding, finding } from '../../findings/finding.ts';
import { plainText } from '../../update-package/plain-text.ts';
import type { PropertyFilePlace, PropertyFilesFacts } from '../../update-package/update-package-facts.ts';

/** The places that the metadata names for reading without the zip's directory, against where things really are. */
export function checkPropertyFiles(facts: PropertyFilesFacts): readonly Finding[] {
  const lists = [...new Set(facts.places.map((place) => place.list))];
  return [
    ...facts.unreadable.map((list) => finding('update/property-files-unreadable', plainText(list))),
    ...lists.flatMap((list) => {
      const wrong = facts.places.filter((place) => place.list === list && !isRight(place));
      if (wrong.length === 0) return [];
      return [finding('update/property-files-differ', plainText(list), { problems: wrong.slice(0, 10).map(describe) })];
    }),
  ];
}

const isRight = ({ stated, actual }: PropertyFilePlace): boolean =>
  actual?.stored === true && actual.offset === stated.offset && actual.bytes === stated.bytes;

const describe = ({ stated, actual }: PropertyFilePlace) => ({
  name: plainText(stated.name),
  stated: `${stated.offset}:${stated.bytes}`,
  actual:
    actual === undefined ? 'not there' : `${actual.offset}:${actual.bytes}${actual.stored ? '' : ', and compressed'}`,
});
