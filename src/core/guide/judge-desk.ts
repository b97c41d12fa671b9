import type { Verdict } from '../findings/finding.ts';

/** One thing that a desk needs, as it was found. */
interface Found {
  readonly name: string;
  readonly state: 'there' | 'missing' | 'broken';
  readonly detail: string;
}

export interface DeskItem extends Found {
  readonly title: string;
  /** What it is for, and what to do; empty where it is there. */
  readonly todo: string;
}

interface Need {
  readonly title: string;
  readonly missing: string;
  readonly broken: string;
}

const packageFor = (platform: string, debian: string): string =>
  platform === 'linux' ? ` (on Debian: the package ${debian})` : '';

/** What each thing is for. From memory where it names a package. */
const needs = (platform: string): Readonly<Record<string, Need>> => ({
  node: { title: 'Node', missing: '', broken: 'Install Node 20.19 or newer: this tool was tried with no older one.' },
  settings: {
    title: 'Settings',
    missing: '',
    broken: 'Set it right, or take it back: stickwright settings set NAME VALUE, stickwright settings unset NAME.',
  },
  families: {
    title: 'Families',
    missing:
      'No label can be read. stickwright guide makes a family on the way; a colleague’s file: stickwright family add FILE.',
    broken: 'Nothing is prepared with a file that is not sound. stickwright family check says where and why.',
  },
  shelf: {
    title: 'Shelf',
    missing: 'None yet: the first stickwright shelf add makes it. Without it packages are named by their path.',
    broken: 'Have the folder made yours, or name another: stickwright settings set shelf FOLDER.',
  },
  drafts: {
    title: 'Drafts',
    missing: '',
    broken: 'What you type in guide and family new cannot be kept. Make room, or have the folder made yours.',
  },
  drives: {
    title: 'Drives',
    missing: '',
    broken: `Sticks cannot be listed; name folders, image files and devices by their paths${packageFor(platform, 'util-linux')}.`,
  },
  exfat: {
    title: 'exFAT',
    missing: `Sticks cannot be formatted as exFAT; FAT32 of any size can${packageFor(platform, 'exfatprogs')}.`,
    broken: '',
  },
  eject: {
    title: 'Eject',
    missing: `No stick can be switched off by --eject: let go of it as this system does${packageFor(platform, 'udisks2')}.`,
    broken: '',
  },
  browser: {
    title: 'Browser',
    missing: `Cards cannot be made as PDF; print their HTML instead, or install a browser of the Chromium kind${packageFor(platform, 'chromium')}.`,
    broken: 'Set STICKWRIGHT_BROWSER to the full path of a browser, or unset it.',
  },
  seal: {
    title: 'Seal',
    missing: 'None: anybody could have written a stick of yours. stickwright seal new makes a key.',
    broken: 'Sticks are not sealed before that is mended. Make the key yours alone (chmod 600).',
  },
});

/** Told by its word; colour comes on top. */
export const deskStateWords = { there: 'ok', missing: 'none', broken: 'BROKEN' } as const;

/** What is missing only is no fault: much work needs none of it. */
export const verdictOfDesk = (items: readonly DeskItem[]): Verdict =>
  items.some(({ state }) => state === 'broken') ? 'not-ready' : 'ready';

/** Each thing with what to do about it. A thing that is missing only says what cannot be done without it. */
export function judgeDesk(found: readonly Found[], platform: string): readonly DeskItem[] {
  const known = needs(platform);
  return found.map((one) => {
    const need = known[one.name];
    const todo = one.state === 'there' ? '' : (need?.[one.state] ?? '');
    return { ...one, title: need?.title ?? one.name, todo };
  });
}
