/** Something that a desk says once. A word on the command line beats it, and so does the variable. */
export interface Setting {
  readonly name: string;
  readonly what: string;
  /** The environment's name for it. */
  readonly variable: string;
  /** The word that says it for one command; undefined where there is none. */
  readonly word: string | undefined;
  readonly kind: 'text' | 'path' | 'paths' | 'choice' | 'zone';
  readonly values?: readonly string[];
  /** What holds where nobody says anything. */
  readonly otherwise: string;
}

/**
 * All of them. None makes READY of what would be unproven without it: they say where things lie and how they are shown,
 * or ask for more.
 */
export const settings: readonly Setting[] = [
  {
    name: 'families',
    what: 'files or folders of family files',
    variable: 'STICKWRIGHT_FAMILIES',
    word: '--family',
    kind: 'paths',
    otherwise: 'your own folder',
  },
  {
    name: 'shelf',
    what: 'folder where packages are kept',
    variable: 'STICKWRIGHT_SHELF',
    word: '--shelf',
    kind: 'path',
    otherwise: 'your own folder',
  },
  {
    name: 'who',
    what: 'whose name stands in records and family files',
    variable: 'STICKWRIGHT_WHO',
    word: '--who',
    kind: 'text',
    otherwise: 'the name you are logged in with',
  },
  {
    name: 'paper',
    what: 'size of the room cards',
    variable: 'STICKWRIGHT_PAPER',
    word: '--paper',
    kind: 'choice',
    values: ['a5', 'a6'],
    otherwise: 'a5',
  },
  {
    name: 'time-zone',
    what: 'zone in which times are shown',
    variable: 'TZ',
    word: undefined,
    kind: 'zone',
    otherwise: "the system's",
  },
  {
    name: 'published-hash',
    what: 'always: a stick without a published hash is UNPROVEN, whatever family file or signature say',
    variable: 'STICKWRIGHT_PUBLISHED_HASH',
    word: undefined,
    kind: 'choice',
    values: ['as-the-family-says', 'always'],
    otherwise: 'as-the-family-says',
  },
  {
    name: 'trusted-seals',
    what: 'public keys of desks: verify then takes only sticks that one of them sealed',
    variable: 'STICKWRIGHT_TRUSTED_SEALS',
    word: '--seal-from',
    kind: 'paths',
    otherwise: 'none: anybody may have prepared a stick',
  },
];

export const settingNamed = (name: string): Setting | undefined => settings.find((one) => one.name === name);

/** Why a value cannot be that of a setting; undefined where it can. Whether a path is there is for io to say. */
export function objectionToSetting({ name, kind, values = [] }: Setting, value: string): string | undefined {
  if (value.trim() === '') return `${name} is empty.`;
  if (/\p{Cc}/u.test(value)) return `${name} holds characters that cannot be seen.`;
  if (kind === 'choice' && !values.includes(value)) return `${name} is ${values.join(' or ')}, not ${value}.`;
  if (kind === 'zone' && !isZone(value)) return `${value} is no time zone such as Europe/Lisbon or UTC.`;
  return undefined;
}

function isZone(name: string): boolean {
  try {
    return new Intl.DateTimeFormat('en', { timeZone: name }).resolvedOptions().timeZone !== '';
  } catch {
    return false;
  }
}

export interface SettingSeen {
  readonly setting: Setting;
  readonly value: string;
  readonly from: 'environment' | 'file' | 'default';
  /** Why it cannot be used. */
  readonly objection: string | undefined;
}

/** What holds for each setting, and who says so. */
export function seeSettings(
  inFile: Readonly<Record<string, string>>,
  environment: Readonly<Record<string, string | undefined>>,
): readonly SettingSeen[] {
  return settings.map((setting) => {
    const said = environment[setting.variable] ?? '';
    const kept = Object.hasOwn(inFile, setting.name) ? (inFile[setting.name] ?? '') : '';
    const from = said !== '' ? 'environment' : kept !== '' ? 'file' : 'default';
    const value = { environment: said, file: kept, default: setting.otherwise }[from];
    return { setting, value, from, objection: from === 'default' ? undefined : objectionToSetting(setting, value) };
  });
}
