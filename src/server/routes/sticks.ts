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
import type { AtWork } from '../work.ts';
import { bodyOf, refusal } from './body.ts';
import { folderToKeep, lookBack, lookBackOrder, verify, verifyOrder } from './verify.ts';

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
  const begin = (kind: string, target: string, run: (at: AtWork) => Promise<ReportDocument>): { id: string } => {
    if (!desk.knowsTarget(target)) throw refusal(409, `${target} is not plugged in any more.`);
    return { id: desk.work.start({ kind, about: target, targets: [target] }, run) };
  };
  return new Hono()
    .post('/verify', async (context) => {
      const order = await bodyOf(context, verifyOrder);
      return context.json(begin('verify', order.target, (at) => verify(desk, order, at)));
    })
    .post('/returned', async (context) => {
      const order = await bodyOf(context, lookBackOrder);
      const folder = await folderToKeep(order);
      return context.json(begin('verify --returned', order.target, (at) => lookBack(desk, order, folder, at)));
    })
    .post('/format', async (context) => {
      const order = await bodyOf(context, formatOrder);
      return context.json(begin('format', order.target, (at) => format(desk, order, at)));
    })
    .post('/prove', async (context) => {
      const order = await bodyOf(context, proveOrder);
      return context.json(begin('prove', order.target, (at) => prove(desk, order, at)));
    });
}

/** The whole drive behind a target: a mounted folder is only a part of it. */
const wholeOf = (desk: Desk, named: string): string =>
  desk.targets.find((one) => one.target === named)?.device ?? named;

/** None that carries what this desk works with is erased. */
async function findToErase(desk: Desk): Promise<typeof findMedium> {
  const shelf = await desk.parts.shelf({ make: false }).catch(() => undefined);
  const round = await desk.parts.round();
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

async function format(desk: Desk, order: z.output<typeof formatOrder>, at: AtWork): Promise<ReportDocument> {
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

async function prove(desk: Desk, { target: named, how }: z.output<typeof proveOrder>, at: AtWork) {
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
