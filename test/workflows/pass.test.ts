import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Finding } from '../../src/core/findings/finding.ts';
import { customaryRules } from '../../src/core/model/customary-rules.ts';
import { ToolError } from '../../src/core/model/tool-error.ts';
import { inspectArchive } from '../../src/workflows/inspect-archive.ts';
import type { Ports } from '../../src/workflows/ports.ts';
import { type PrepareRequest, prepareSticks } from '../../src/workflows/prepare-sticks.ts';
import { makeArchive, makePublishedArchive, requestFor, sedgeFamily, sha256 } from '../fixtures/desk.ts';
import { memoryPorts, newStick, openingWith, prepare } from '../fixtures/memory-sticks.ts';
import { codesOf } from '../fixtures/returned.ts';

let folder: string;
let archivePath: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright pass-'));
  archivePath = await makePublishedArchive(folder);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Ports that count what is asked of the archive. */
function counting(): { readonly asked: Record<string, number>; readonly ports: Ports } {
  const asked: Record<string, number> = { opened: 0, closed: 0, read: 0, looked: 0 };
  const count = (name: string): void => {
    asked[name] = (asked[name] ?? 0) + 1;
  };
  const ports: Ports = {
    ...memoryPorts,
    findPublishedHashes: (path) => {
      count('looked');
      return memoryPorts.findPublishedHashes(path);
    },
    openArchive: async (path) => {
      const archive = await memoryPorts.openArchive(path);
      count('opened');
      return {
        ...archive,
        readThrough: (...all) => {
          count('read');
          return archive.readThrough(...all);
        },
        close: async () => {
          count('closed');
          await archive.close();
        },
      };
    },
  };
  return { asked, ports };
}

describe('the pass over an archive', { tags: ['archive-read-once'] }, () => {
  test('is one, whoever asks, and the archive is let go', async () => {
    const once = { opened: 1, closed: 1, read: 1, looked: 1 };
    const preparing = counting();
    await prepare({ archivePath, targets: [await newStick(), await newStick()] }, preparing.ports);
    expect(preparing.asked).toEqual(once);
    const dry = counting();
    await prepare({ archivePath, targets: [await newStick()], dryRun: true }, dry.ports);
    expect(dry.asked).toEqual(once);
    const inspecting = counting();
    const running = { tell: () => {}, signal: new AbortController().signal };
    const { archive, verdict } = await inspectArchive(
      { ...(await requestFor({ archivePath, targets: [] })), label: undefined },
      inspecting.ports,
      running,
    );
    expect([inspecting.asked, verdict, archive.digests?.sha256]).toEqual([
      once,
      'ready',
      sha256(readFileSync(archivePath)),
    ]);
  });

  test('is none where the answer is known already: a wrong label, a no, and no stick that could be written', async () => {
    const none = { opened: 1, closed: 1, read: 0, looked: 1 };
    for (const wish of [{ label: 'K3-second 75/5B' }, { label: 'K3-second 75/5B', dryRun: true }]) {
      const { asked, ports } = counting();
      const { report } = await prepare({ archivePath, targets: [await newStick()], ...wish }, ports);
      expect([asked, report.verdict, report.archive.digests]).toEqual([none, 'not-ready', undefined]);
    }
    const { asked, ports } = counting();
    const request = { ...(await requestFor({ archivePath, targets: [await newStick()] })), agreed: false };
    const report = await prepareSticks(request, ports, {
      tell: () => {},
      signal: new AbortController().signal,
      propose: async () => {},
      agree: async () => false,
    });
    expect([asked, report.sticks[0]?.state, report.interrupted]).toEqual([none, 'declined', false]);
  });

  test('is told from its first byte to its last', async () => {
    const { events } = await prepare({ archivePath, targets: [await newStick()] });
    const heard = events.filter((event) => 'stage' in event && event.stage === 'reading');
    const totalBytes = readFileSync(archivePath).length;
    expect(heard[0]).toEqual({ kind: 'stage', target: archivePath, stage: 'reading', totalBytes });
    const done = heard.flatMap((event) => (event.kind === 'progress' ? [event.doneBytes] : []));
    expect(done.at(-1)).toBe(totalBytes);
    expect(done.every((bytes, at) => bytes > (done[at - 1] ?? 0))).toBe(true);
    const wrong = await prepare({ archivePath, targets: [await newStick()], label: 'K3-second 75/5B' });
    expect(wrong.events.filter((event) => 'stage' in event && event.stage === 'reading')).toEqual([]);
  });

  test('that fails is told as what it is, and what was opened is let go; one that is stopped is no failure', async () => {
    const { asked, ports } = counting();
    const broken = (error: Error, before = (): void => {}): Ports => ({
      ...ports,
      openArchive: async (path) => ({
        ...(await ports.openArchive(path)),
        readThrough: async () => {
          before();
          throw error;
        },
      }),
    });
    const changed = new ToolError('file/changed-while-read', archivePath, 'so it is', 'Do this.');
    let closed = 0;
    const watching = openingWith((volume) => ({
      close: async () => {
        closed++;
        await volume.close();
      },
    }));
    const wish = { archivePath, targets: [await newStick()] };
    await expect(prepare(wish, { ...broken(changed), openVolume: watching })).rejects.toBe(changed);
    expect([asked.opened, asked.closed, closed]).toEqual([1, 1, 2]); // the second look before writing, and the stick
    const controller = new AbortController();
    const stop = new Error('stopped by a person');
    const knownBefore: Finding[] = [];
    const stopping = broken(stop, () => controller.abort(stop));
    const report = await prepareSticks(await requestFor({ archivePath, targets: [await newStick()] }), stopping, {
      tell: () => {},
      signal: controller.signal,
      propose: async (_job, findings) => void knownBefore.push(...findings),
      agree: async () => true,
    });
    expect(report).toMatchObject({ interrupted: true, verdict: 'not-ready', archive: { digests: undefined } });
    expect(report.findings).toEqual(knownBefore);
  });

  test('says what the hashes say that a person, the shelf and the files beside it give, each once', async () => {
    const hex = sha256(readFileSync(archivePath));
    const claim = (from: string, value = hex) => ({ algorithm: 'SHA-256', hex: value, from }) as const;
    const said = async (wish: object, path = archivePath) => {
      const { report } = await prepare({ archivePath: path, targets: [await newStick()], dryRun: true, ...wish });
      return report.findings.filter(({ code }) => code.startsWith('archive/hash'));
    };
    expect(await said({ claims: [claim('the command line')] })).toMatchObject([
      { code: 'archive/hash-matches' },
      { code: 'archive/hash-matches' },
    ]);
    expect(codesOf(await said({ claims: [claim('the command line', '0'.repeat(64))] }))).toContain(
      'archive/hash-differs',
    );
    const longer = createHash('sha512').update(readFileSync(archivePath)).digest('hex');
    const sha512 = { algorithm: 'SHA-512', hex: longer, from: 'the command line' } as const;
    expect(codesOf(await said({ claims: [sha512] }))).toEqual(['archive/hash-matches', 'archive/hash-matches']);
    const place = mkdtempSync(join(folder, 'silent-'));
    const path = await makeArchive(place);
    writeFileSync(join(place, 'SHA256SUMS'), `${hex}  other.zip\n`);
    const silent = await said({}, path);
    expect(codesOf(silent).filter((code) => code === 'archive/hash-list-silent')).toHaveLength(1);
    const known = silent.filter(({ code }) => code === 'archive/hash-list-silent') as readonly Finding[];
    expect(codesOf(await said({ known }, path)).filter((code) => code === 'archive/hash-list-silent')).toHaveLength(1);
  });
});

describe('what only the pass shows, and what only the mode does', { tags: ['archive-read-once', 'any-maker'] }, () => {
  test('is content that is not what the archive says of it', async () => {
    const damaged = join(mkdtempSync(join(folder, 'damaged-')), basename(archivePath));
    const bytes = readFileSync(archivePath);
    bytes.writeUInt8(bytes.readUInt8(20_000) ^ 1, 20_000);
    writeFileSync(damaged, bytes);
    const { report } = await prepare({ archivePath: damaged, targets: [await newStick()], dryRun: true });
    expect(codesOf(report.findings)).toContain('archive/content-damaged');
  });

  test('is whether a name that says less than the label is for a wipe', async () => {
    const bare = await makeArchive(mkdtempSync(join(folder, 'bare-')), undefined, 'QX_K2_20240117.zip');
    const codes = async (mode: 'recovery' | 'in-os') => {
      const wish = {
        archivePath: bare,
        targets: [await newStick()],
        dryRun: true,
        families: [],
        label: 'QX 75 K2',
        mode,
      } as const;
      return codesOf((await prepare(wish)).report.findings).filter((code) => code.startsWith('fit/tokens'));
    };
    expect(await codes('recovery')).toEqual(['fit/tokens-missing-before-wipe']);
    expect(await codes('in-os')).toEqual(['fit/tokens-missing']);
  });
});

describe('what is known before anybody agrees', { tags: ['plan-before-touch', 'doubt-stays'] }, () => {
  const runWith = async (wish: Partial<PrepareRequest>) => {
    const proposed: Finding[] = [];
    const bare = await makeArchive(mkdtempSync(join(folder, 'bare-')));
    const request = await requestFor({ archivePath: bare, targets: [await newStick()], dryRun: true, ...wish });
    const report = await prepareSticks(request, memoryPorts, {
      tell: () => {},
      signal: new AbortController().signal,
      propose: async (_job, findings) => void proposed.push(...findings),
      agree: async () => true,
    });
    const missed = (findings: readonly Finding[]) =>
      findings.filter(({ code }) => code === 'archive/no-published-hash').length;
    return { before: missed(proposed), after: missed(report.findings), report };
  };

  test('is that nobody published a hash, said once, unless its maker publishes none or a signer may vouch', async () => {
    const families = await sedgeFamily();
    const silent = families.map((family) => ({ ...family, 'published-hash': 'none' as const }));
    const trusted = [Uint8Array.of(1)];
    expect(await runWith({})).toMatchObject({ before: 1, after: 1, report: { verdict: 'unproven' } });
    expect(await runWith({ families: silent })).toMatchObject({ before: 0, after: 0, report: { verdict: 'ready' } });
    expect(await runWith({ families: silent, hashAlways: true })).toMatchObject({ before: 1, after: 1 });
    expect(await runWith({ families: silent, hashAlways: false })).toMatchObject({ before: 0, after: 0 });
    expect(await runWith({ trusted })).toMatchObject({ before: 0, after: 1 }); // it is not signed
    expect(await runWith({ trusted, hashAlways: true })).toMatchObject({ before: 1, after: 1 });
    const kept = { algorithm: 'SHA-256', hex: '0'.repeat(64), from: 'the shelf', kept: true } as const;
    expect(await runWith({ claims: [kept] })).toMatchObject({ before: 1, after: 1 });
    const known = [{ code: 'archive/no-published-hash', subject: '', facts: {} }] as const;
    expect(await runWith({ known })).toMatchObject({ before: 1, after: 1 });
    const ofElse = [{ code: 'build/cannot-order', subject: '', facts: {} }] as const;
    expect(await runWith({ known: ofElse })).toMatchObject({ before: 1, after: 1 });
    const ofAnother = [{ code: 'archive/no-published-hash', subject: 'another.zip', facts: {} }] as const;
    expect(await runWith({ known: ofAnother })).toMatchObject({ before: 2, after: 2 });
  });

  test('is without a label what the families of the package say', async () => {
    const families = (await sedgeFamily()).map((family) => ({ ...family, 'published-hash': 'none' as const }));
    const path = await makeArchive(mkdtempSync(join(folder, 'bare-')));
    const request = await requestFor({ archivePath: path, targets: [], families });
    const running = { tell: () => {}, signal: new AbortController().signal };
    const { verdict, findings } = await inspectArchive({ ...request, label: undefined }, memoryPorts, running);
    expect([verdict, codesOf(findings).includes('archive/no-published-hash')]).toEqual(['ready', false]);
  });

  test('is what the one family of the label asks for, and what is customary where there is none or more than one', async () => {
    const families = await sedgeFamily();
    const own = families.map((family) => ({
      ...family,
      modes: { ...family.modes, recovery: { ...customaryRules('recovery'), 'largest-stick': 7e9 } },
    })) as unknown as typeof families;
    const rulesOf = async (wish: Partial<PrepareRequest>) => (await runWith(wish)).report.rules;
    expect(await rulesOf({ families: own })).toMatchObject({ 'largest-stick': 7e9 });
    expect(await rulesOf({ families: [] })).toEqual(customaryRules('recovery'));
    const twins = [...own, ...own.map((family) => ({ ...family, family: 'twin' }))];
    expect(await rulesOf({ families: twins })).toEqual(customaryRules('recovery'));
  });
});
