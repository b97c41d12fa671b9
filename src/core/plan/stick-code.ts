/** Without the characters that people misread for one another: O 0 I 1 S 5 B 8 Z 2 G 6 Q U V. */
const alphabet = 'ACDEFHJKLMNPRTWXY3479';

/** `K7M-R4X`: about 86 million codes, enough that no desk meets one twice. PICK gives a whole number from 0 to below. */
export function makeStickCode(pick: (below: number) => number): string {
  const characters = Array.from({ length: 6 }, () => alphabet[pick(alphabet.length)]).join('');
  return `${characters.slice(0, 3)}-${characters.slice(3)}`;
}
