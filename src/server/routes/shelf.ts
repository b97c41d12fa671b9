import { Hono } from 'hono';
import * as z from 'zod';
import { textsOf } from '../../core/findings/finding.ts';
import { exitCodeOf } from '../../core/model/exit-codes.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { checkNewName } from '../../core/shelf/check-newcomer.ts';
import { largestPackageBytes, noteProblem, sourceProblem } from '../../core/shelf/newcomer-rules.ts';
import { holdForNow } from '../../io/files/hold-for-now.ts';
import type { Delivery, Received } from '../../io/files/take-in.ts';
import {
  shelfAddDocument,
  shelfCheckDocument,
  shelfListDocument,
  shelfRemoveDocument,
} from '../../render/json/shelf-to-json.ts';
import { inspectDocument } from '../../render/json/to-json.ts';
import { inspectArchive } from '../../workflows/inspect-archive.ts';
import { addToShelf } from '../../workflows/shelf-add.ts';
import { checkShelf } from '../../workflows/shelf-check.ts';
import { listShelf, removeFromShelf } from '../../workflows/shelf-list.ts';
import { accepted, acceptedReasons } from '../accepted.ts';
import type { Desk } from '../desk.ts';
import type { AtWork, DeskAtHand, WorkKind } from '../desk-at-hand.ts';
import { claimsIn, published, signers, trustedIn } from '../published.ts';
import { bodyOf, refusal } from './body.ts';
import { uploadHead, uploadOf } from './upload.ts';

const newcomer = uploadHead.extend({
  from: z.string().max(4000).optional(),
  note: z.string().max(1_000_000).optional(),
  published,
  signers,
  accepted,
  /** Whether it is put on the shelf; else it is looked into, and gone afterwards. */
  keep: z.boolean().default(true),
  label: z.string().max(1000).optional(),
});

type Newcomer = z.output<typeof newcomer>;

/** More files at the same time help nobody: they come over one computer's own disk. */
const mostAtOnce = 4;

/** The shelf: what lies there, a package taken in while it is handed over, all of it read again. */
export function shelfRoutes(desk: Desk): Hono {
  let coming = 0;
  return new Hono()
    .get('/', async (context) => {
      const { shelf } = await desk.parts.shelf({ make: false });
      const report = await listShelf([], shelf);
      return context.json(shelfListDocument(report, exitCodeOf(report.verdict)));
    })
    .post('/', async (context) => {
      const upload = await uploadOf(context, newcomer, largestPackageBytes);
      expectKept(upload.said);
      if (coming >= mostAtOnce) throw refusal(409, 'Several packages are coming in already. Wait for one of them.');
      coming += 1;
      const { said, chunks, stop } = upload;
      const kind = said.keep ? addingToShelf : inspecting;
      const id = desk.work.start(kind, said, { about: said.name, targets: [] });
      try {
        await desk.work.piece(id)?.feed(chunks);
      } finally {
        stop();
        coming -= 1;
      }
      return context.json({ id });
    })
    .post('/remove', async (context) => {
      const { id } = await bodyOf(context, z.object({ id: z.string().max(200) }));
      const { shelf } = await desk.parts.shelf({ make: false });
      const one = (await shelf.list()).packages.find((shelved) => shelved.id === id);
      if (one === undefined) throw refusal(409, 'That package is not on the shelf any more.');
      const { name, sha256 } = one.record;
      const work = desk.work.start(removingFromShelf, { name, sha256 }, { about: name, targets: [] });
      return context.json({ id: work });
    })
    .post('/check', (context) => {
      const id = desk.work.start(checkingShelf, {}, { about: 'every package on the shelf', targets: [] });
      return context.json({ id });
    });
}

export const removingFromShelf: WorkKind<{ readonly name: string; readonly sha256: string }> = {
  kind: 'shelf remove',
  run: async (desk, { name, sha256 }, at) => {
    const { shelf } = await desk.parts.shelf({ make: false });
    const report = await removeFromShelf([sha256], shelf, () =>
      at.ask(undefined, {
        words: `Delete ${name} from the shelf, for every desk?`,
        wipes: false,
        typed: undefined,
        buttons: { yes: 'Delete it', no: 'No, keep it' },
      }),
    );
    desk.tell({ event: 'changed', what: 'desk' });
    return shelfRemoveDocument(report, exitCodeOf(report.verdict));
  },
};

export const checkingShelf: WorkKind<object> = {
  kind: 'shelf check',
  run: async (desk, _, at) => {
    const { shelf } = await desk.parts.shelf({ make: false });
    const report = await checkShelf([], shelf, at);
    return shelfCheckDocument(report, exitCodeOf(report.verdict));
  },
};

export const addingToShelf: WorkKind<Newcomer> = { kind: 'shelf add', run: add };

export const inspecting: WorkKind<Newcomer> = { kind: 'inspect', run: lookInto };

/** The shelf's own rules, before a byte of it is taken. */
function expectKept({ name, from, note, published: said, accepted: given }: Newcomer): void {
  const [unusable] = checkNewName(name, []);
  if (unusable !== undefined) {
    const { seen, todo } = textsOf(unusable);
    throw refusal(400, `${seen} ${todo}`);
  }
  const problem = from === undefined ? undefined : sourceProblem(from.trim());
  if (problem !== undefined) throw refusal(400, `The address of the download ${problem}.`);
  const long = note === undefined ? undefined : noteProblem(note);
  if (long !== undefined) throw refusal(400, long);
  claimsIn(said, name);
  acceptedReasons(given);
}

/** As `shelf add` does, of a file that lies beside the shelf until then. */
async function add(desk: DeskAtHand, said: Newcomer, at: AtWork) {
  const { name, from, note } = said;
  const { shelf, made } = await desk.parts.shelf({ make: true });
  return await using(await shelf.receive(name, deliveryOf(said, at)), async (path) => {
    const report = await addToShelf({
      request: {
        archivePaths: [path],
        ...(await desk.parts.families()),
        trusted: trustedIn(said.signers),
        claims: claimsIn(said.published, name),
        accepted: acceptedReasons(said.accepted),
        from: from?.trim(),
        note: note?.trim() === '' ? undefined : note,
      },
      shelf,
      made,
      ports: await desk.parts.ports(),
      running: { signal: at.signal, tell: (event) => at.tell({ ...event, target: name }) },
    });
    desk.tell({ event: 'changed', what: 'desk' });
    // Where it lay for the moment is nothing to anybody.
    const additions = report.additions.map((one) => ({ ...one, archivePath: name }));
    return shelfAddDocument({ ...report, additions }, exitCodeOf(report.verdict)) satisfies ReportDocument;
  });
}

/** As `inspect` does; nothing of it is kept, and no shelf is made or needed. */
async function lookInto(desk: DeskAtHand, said: Newcomer, at: AtWork) {
  return await using(await holdForNow(said.name, deliveryOf(said, at)), async (archivePath) => {
    const request = {
      archivePath,
      ...(await desk.parts.families()),
      trusted: trustedIn(said.signers),
      claims: claimsIn(said.published, said.name),
      expectBytes: undefined,
      label: said.label,
    };
    const tell = (event: Parameters<AtWork['tell']>[0]): void => at.tell({ ...event, target: said.name });
    const report = await inspectArchive(request, await desk.parts.ports(), { signal: at.signal, tell });
    const facts = { ...report.archive.facts, path: said.name };
    return inspectDocument({ ...report, archive: { ...report.archive, facts } }, exitCodeOf(report.verdict));
  });
}

function deliveryOf({ name, bytes }: Newcomer, { tell, input, signal }: AtWork): Delivery {
  tell({ kind: 'stage', target: name, stage: 'receiving', totalBytes: bytes });
  const heard = (doneBytes: number): void =>
    tell({ kind: 'progress', target: name, stage: 'receiving', doneBytes, totalBytes: bytes });
  return { chunks: input, bytes, heard, signal };
}

/** USE of a file that is gone afterwards, whatever happens. */
async function using<Answer>({ path, discard }: Received, use: (path: string) => Promise<Answer>): Promise<Answer> {
  try {
    return await use(path);
  } finally {
    await discard();
  }
}
