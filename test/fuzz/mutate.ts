/** Numbers from a seed, the same on every machine (mulberry32). */
export type Random = (below: number) => number;

export function randomFrom(seed: number): Random {
  let state = seed >>> 0;
  return (below) => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return Math.floor((((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32) * below);
  };
}

type Mutation = (bytes: Buffer, random: Random, other: Buffer) => Buffer;

/** Record signatures and the offsets and widths of their fields (APPNOTE 4.3.7, 4.3.9, 4.3.12, 4.3.14 to 4.3.16). */
const records: readonly { readonly signature: number; readonly fields: readonly (readonly [number, 2 | 4 | 8])[] }[] = [
  {
    signature: 0x04034b50,
    fields: [
      [4, 2],
      [6, 2],
      [8, 2],
      [10, 4],
      [14, 4],
      [18, 4],
      [22, 4],
      [26, 2],
      [28, 2],
    ],
  },
  {
    signature: 0x08074b50,
    fields: [
      [4, 4],
      [8, 4],
      [12, 4],
    ],
  },
  {
    signature: 0x02014b50,
    fields: [
      [4, 2],
      [6, 2],
      [8, 2],
      [10, 2],
      [12, 4],
      [16, 4],
      [20, 4],
      [24, 4],
      [28, 2],
      [30, 2],
      [32, 2],
      [34, 2],
      [36, 2],
      [38, 4],
      [42, 4],
    ],
  },
  {
    signature: 0x06064b50,
    fields: [
      [4, 8],
      [12, 2],
      [14, 2],
      [16, 4],
      [20, 4],
      [24, 8],
      [32, 8],
      [40, 8],
      [48, 8],
    ],
  },
  {
    signature: 0x07064b50,
    fields: [
      [4, 4],
      [8, 8],
      [16, 4],
    ],
  },
  {
    signature: 0x06054b50,
    fields: [
      [4, 2],
      [6, 2],
      [8, 2],
      [10, 2],
      [12, 4],
      [16, 4],
      [20, 2],
    ],
  },
];

const tellingValues = [
  0n,
  1n,
  2n,
  7n,
  0x7fn,
  0xffn,
  0xffffn,
  0x7fffffffn,
  0xffffffffn,
  2n ** 53n,
  2n ** 63n,
  2n ** 64n - 1n,
];

/** One field of one record set to a telling value, or moved by one. */
const setField: Mutation = (bytes, random) => {
  const places = records.flatMap(({ signature, fields }) => {
    const mark = Buffer.alloc(4);
    mark.writeUInt32LE(signature);
    const found: { at: number; fields: typeof fields }[] = [];
    for (let at = bytes.indexOf(mark); at !== -1; at = bytes.indexOf(mark, at + 1)) found.push({ at, fields });
    return found;
  });
  const place = places[random(places.length)];
  const field = place?.fields[random(place.fields.length)];
  if (place === undefined || field === undefined) return flipBit(bytes, random, bytes);
  const at = place.at + field[0];
  if (at + field[1] > bytes.length) return bytes;
  const wide = Buffer.alloc(8);
  bytes.copy(wide, 0, at, at + field[1]);
  const before = wide.readBigUInt64LE();
  const steps = [before + 1n, before - 1n, before ^ 8n, before ^ 0x800n];
  const choice = random(tellingValues.length + steps.length);
  wide.writeBigUInt64LE(BigInt.asUintN(64, tellingValues[choice] ?? steps[choice - tellingValues.length] ?? 0n));
  const out = Buffer.from(bytes);
  wide.copy(out, at, 0, field[1]);
  return out;
};

const flipBit: Mutation = (bytes, random) => {
  const out = Buffer.from(bytes);
  const at = random(out.length);
  out[at] = (out[at] ?? 0) ^ (1 << random(8));
  return out;
};

const setBytes: Mutation = (bytes, random) => {
  const out = Buffer.from(bytes);
  const at = random(out.length);
  out.fill(random(256), at, Math.min(out.length, at + 1 + random(8)));
  return out;
};

const cutOut: Mutation = (bytes, random) => {
  const at = random(bytes.length);
  return Buffer.concat([bytes.subarray(0, at), bytes.subarray(at + 1 + random(40))]);
};

const putIn: Mutation = (bytes, random) => {
  const at = random(bytes.length + 1);
  return Buffer.concat([bytes.subarray(0, at), Buffer.alloc(1 + random(40), random(256)), bytes.subarray(at)]);
};

const truncate: Mutation = (bytes, random) => bytes.subarray(0, random(bytes.length));

const copyRange: Mutation = (bytes, random) => {
  const out = Buffer.from(bytes);
  const from = random(out.length);
  out.copy(out, random(out.length), from, Math.min(out.length, from + 1 + random(80)));
  return out;
};

const splice: Mutation = (bytes, random, other) =>
  Buffer.concat([bytes.subarray(0, random(bytes.length)), other.subarray(random(other.length))]);

const join: Mutation = (bytes, _random, other) => Buffer.concat([bytes, other]);

/** The other archive as this one's comment, with the comment's length right. */
const asComment: Mutation = (bytes, _random, other) => {
  const at = bytes.lastIndexOf(Buffer.from('PK\x05\x06', 'latin1'));
  if (at === -1 || at + 22 !== bytes.length || other.length > 0xffff) return join(bytes, _random, other);
  const out = Buffer.concat([bytes, other]);
  out.writeUInt16LE(other.length, at + 20);
  return out;
};

const mutations: readonly Mutation[] = [
  setField,
  setField,
  setField,
  flipBit,
  flipBit,
  setBytes,
  cutOut,
  putIn,
  truncate,
  copyRange,
  splice,
  join,
  asComment,
];

/** A sound archive with one to three faults; `other` lends parts. */
export function mutate(bytes: Buffer, other: Buffer, random: Random): Buffer {
  let out = bytes;
  for (let left = 1 + random(3); left > 0 && out.length > 0; left -= 1) {
    const mutation = mutations[random(mutations.length)] ?? flipBit;
    out = mutation(out, random, other);
  }
  return out;
}
