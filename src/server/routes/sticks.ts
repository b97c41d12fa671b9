import { randomInt } from 'node:crypto';
import { Hono } from 'hono';
import * as z from 'zod';
import { usualFileSystem } from '../../core/checks/stick/check-format.ts';
import { verdictOf } from '../../core/findings/finding.ts';
import { customaryRules } from '../../core/model/customary-rules.ts';
import { exitCodeOf } from '../../core/model/exit-codes.ts';
import type { Family, ModeRules } from '../../core/model/family.ts';
import { modes } from '../../core/model/mode.ts';
import { type MediumPlace, untriedWay } from '../../core/report/medium-reports.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { isTypedSize } from '../../core/text/byte-size.ts';
import { roundedSize } from '../../core/text/words.ts';
import { findMedium, listLosses } from '../../io/format/find-medium.ts';
import { formatMedium, planFormat } from '../../io/format/format-medium.ts';
import { proveFreeSpace } from '../../io/prove/prove-free-space.ts';
import { newSeed, proveMedium } from '../../io/prove/prove-medium.ts';
import { openVolume } from '../../io/volume/open-volume.ts';
import { formatDocument, proveDocument } from '../../render/json/stick-documents.ts';
import { formatStick, proveStick } from '../../workflows/format-stick.ts';
import type { Desk } from '../desk.ts';
import type { AtWork, DeskAtHand, WorkKind } from '../desk-at-hand.ts';
import { bodyOf, refusal } from './body.ts';
import { lookBackOrder, lookingBack, verifying, verifyOrder } from './verify.ts';

const target = z.string().max(4096);

const formatOrder = z.object({
  target,
  mode: z.enum(modes),
  /** Whose rules; without one, what panels usually take. */
  family: z.string().max(200).optional(),
  fileSystem: z.enum(['fat32', 'fat16', 'exfat']).optional(),
  volumeLabel: z.string().max(11).optional(),
});

const proveOrder = z.object({ target, how: z.enum(['whole', 'sample', 'free-space']) });

/** One stick by itself: verified, looked at when it came back, erased, proved, let go of. */
export function stickRoutes(desk: Desk): Hono {
  /** A piece of work on a target that the page was shown. */
  const begin = <Order extends { readonly target: string }>(kind: WorkKind<Order>, order: Order): { id: string } => {
    const { target } = order;
    if (!desk.knowsTarget(target)) throw refusal(409, `${target} is not plugged in any more.`);
    return { id: desk.work.start(kind, order, { about: target, targets: [target] }) };
  };
  const erase: typeof begin = (kind, order) => {
    const isDoubted = desk.targets.some(({ target, doubt }) => target === order.target && doubt !== undefined);
    if (isDoubted) throw refusal(409, `${order.target} is no removable USB stick: it is never erased from here.`);
    return begin(kind, order);
  };
  return new Hono()
    .post('/verify', async (context) => context.json(begin(verifying, await bodyOf(context, verifyOrder))))
    .post('/returned', async (context) => context.json(begin(lookingBack, await bodyOf(context, lookBackOrder))))
    .post('/format', async (context) => context.json(erase(formatting, await bodyOf(context, formatOrder))))
    .post('/prove', async (context) => context.json(erase(proving, await bodyOf(context, proveOrder))));
}

export const formatting: WorkKind<z.output<typeof formatOrder>> = { kind: 'format', run: format };

export const proving: WorkKind<z.output<typeof proveOrder>> = { kind: 'prove', run: prove };

/** The whole drive behind a target: a mounted folder is only a part of it. */
const wholeOf = (desk: DeskAtHand, named: string): string =>
  desk.targets.find((one) => one.target === named)?.device ?? named;

/** None that carries what this desk works with is erased. */
async function findToErase(desk: DeskAtHand): Promise<typeof findMedium> {
  const shelf = await desk.parts.shelf({ make: false }).catch(() => undefined);
  const round = await desk.rounds.folder();
  const inUse = [shelf?.shelf.place, round?.place, await desk.parts.familyFolder()].filter((one) => one !== undefined);
  return (named, how) => findMedium(named, { ...how, inUse });
}

/** The command asks a drive's size, and a yes for an image. A button is pressed by habit, so here it is the size. */
async function agreeToErase(at: AtWork, proposal: ReportDocument, medium: MediumPlace): Promise<boolean> {
  const erases = {
    wipes: true,
    lost: 'EVERYTHING ON THIS STICK WILL BE LOST.',
    buttons: { yes: 'Erase it', no: 'No, leave it as it is' },
  } as const;
  const untried = untriedWay(medium, process.platform);
  const isFirst = {
    ...erases,
    words: `${untried} Type the word untried to go on all the same.`,
    buttons: { ...erases.buttons, yes: 'Go on' },
    typed: { what: 'the word untried', example: '' },
    isRight: (typed: string) => typed.trim().toLowerCase() === 'untried',
  };
  if (untried !== undefined && !(await at.ask(proposal, isFirst))) return false;
  return await at.ask(proposal, {
    ...erases,
    words: `Erase ${medium.target}, of ${roundedSize(medium.bytes)}? Everything on it will be lost.`,
    typed: { what: 'the size of the stick', example: '' },
    isRight: (typed) => typed.trim() !== '' && isTypedSize(typed, medium.bytes),
  });
}

function rulesFor(name: string | undefined, mode: (typeof modes)[number], families: readonly Family[]): ModeRules {
  return families.find(({ family }) => family === name)?.modes[mode] ?? customaryRules(mode);
}

async function format(desk: DeskAtHand, order: z.output<typeof formatOrder>, at: AtWork): Promise<ReportDocument> {
  const { mode, family, fileSystem, volumeLabel } = order;
  const { families } = await desk.parts.families();
  const rules = rulesFor(family, mode, families);
  const wish = {
    fileSystem: fileSystem ?? usualFileSystem(rules),
    clusterBytes: undefined,
    volumeLabel: volumeLabel === '' ? undefined : volumeLabel,
    volumeSerial: randomInt(2 ** 32),
    at: (await desk.parts.ports()).now(),
  };
  const report = await formatStick(
    { target: wholeOf(desk, order.target), mode, rules, imageBytes: undefined, wish },
    { findMedium: await findToErase(desk), listLosses, planFormat, formatMedium },
    {
      tell: at.tell,
      signal: at.signal,
      propose: async () => {},
      agree: (proposal) => {
        const verdict = verdictOf(proposal.findings);
        const shown = { ...proposal, command: 'format', verdict, state: 'declined', made: undefined } as const;
        const document = formatDocument({ ...shown, readBack: undefined }, exitCodeOf(verdict));
        return agreeToErase(at, document, proposal.medium);
      },
    },
  );
  return formatDocument(report, exitCodeOf(report.verdict));
}

async function prove(desk: DeskAtHand, { target: named, how }: z.output<typeof proveOrder>, at: AtWork) {
  const whole = how === 'free-space' ? named : wholeOf(desk, named);
  let proposed: ReportDocument | undefined;
  const report = await proveStick(
    { target: whole, how },
    {
      findMedium: await findToErase(desk),
      listLosses,
      openVolume,
      proveMedium,
      proveFreeSpace: (volume, running) => proveFreeSpace(volume, { ...running, seed: newSeed() }),
    },
    {
      tell: at.tell,
      signal: at.signal,
      propose: async (medium, losses) => {
        const none = { findings: [], target: whole, proof: undefined } as const;
        proposed = proveDocument(
          { command: 'prove', verdict: 'unproven', state: 'declined', medium, losses, ...none },
          exitCodeOf('unproven'),
        );
      },
      agree: (medium) => agreeToErase(at, proposed as ReportDocument, medium),
    },
  );
  return proveDocument(report, exitCodeOf(report.verdict));
}
