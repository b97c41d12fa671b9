import { describe, expect, it } from 'vitest';
import { catalogue, type FindingCode } from '../../../src/core/findings/catalogue.ts';
import { textsOf } from '../../../src/core/findings/finding.ts';
import { makeCards } from '../../../src/core/rounds/cards/make-cards.ts';
import { makeCover, makeTags } from '../../../src/core/rounds/cards/make-cover.ts';
import { foldRound } from '../../../src/core/rounds/records/fold-round.ts';
import { relateBuilds } from '../../../src/core/rounds/records/read-visit.ts';
import { onPaper } from '../../../src/core/text/on-paper.ts';
import { renderCards } from '../../../src/render/html/render-cards.ts';
import { renderCover } from '../../../src/render/html/render-cover.ts';
import { renderRoundReport } from '../../../src/render/html/render-round-report.ts';
import { renderTags } from '../../../src/render/html/render-tags.ts';
import { anyFacts } from '../../fixtures/any-facts.ts';
import { sampleRecords, sampleRound } from '../../fixtures/round.ts';

const commands = /\bstickwright\b|(?<![\w-])--[a-z]/;
const textOf = (page: string): string =>
  page
    .slice(page.indexOf('<body>'))
    .replace(/<svg[\s\S]*?<\/svg>/g, '')
    .replace(/<[^>]+>/g, ' ')
    .replace(/\s+/g, ' ');

describe('what stands on paper', () => {
  it('has no command in it, whatever the finding', () => {
    const facts = anyFacts('x', { kind: 'xls', mangling: 'hashes', by: 'drive' });
    for (const code of Object.keys(catalogue) as FindingCode[]) {
      const { todo } = textsOf({ code, subject: 'x', facts });
      expect(onPaper(todo), code).not.toMatch(commands);
      expect(onPaper(todo), code).toMatch(/[.!?:]["”’)`]*$|"$/);
    }
  });

  it('keeps what can be followed there', () => {
    expect(onPaper('Ask in the room. Then run stickwright verify E: --returned.')).toBe('Ask in the room.');
    expect(onPaper('Download it from the page and add it: stickwright shelf add.')).toBe(
      'Download it from the page and add it.',
    );
    expect(onPaper('It needs an approval: stickwright round record "Room 2.15" --approved-by NAME. Ask first.')).toBe(
      'It needs an approval. Ask first.',
    );
    expect(onPaper('Name it with --stick.')).toBe('The desk decides.');
    expect(onPaper('')).toBe('');
  });
});

describe('a round on paper', () => {
  const plan = sampleRound();
  const unused = [
    { row: 3, why: 'unusable', room: 'Room 9.01', reason: 'Line 3: the label is missing. Write it: stickwright x.' },
    { row: 4, why: 'repeated', room: 'Room 2.14', reason: 'It says the same.' },
  ] as const;
  const round = { ...plan, list: { ...plan.list, unused: [...unused] } };
  const records = sampleRecords(round);
  const sheet = { round: 'Quillhaven', plannedAt: round.plannedAt };
  const cards = makeCards(round, records);
  const status = foldRound(round, records, relateBuilds([]));
  const pages = {
    a5: renderCards(cards, sheet, 'a5').page,
    a6: renderCards(cards, sheet, 'a6').page,
    tags: renderTags(makeTags(round, records), sheet),
    cover: renderCover(makeCover(round, records)),
    report: renderRoundReport(status, '2026-09-21T16:00:00+02:00'),
  };

  it('has no command on any sheet', () => {
    for (const [name, page] of Object.entries(pages)) expect(textOf(page), name).not.toMatch(commands);
  });

  it('says round, date and sheet on each', () => {
    for (const paper of ['a5', 'a6'] as const)
      for (const [at] of cards.entries())
        expect(textOf(pages[paper])).toMatch(
          new RegExp(`Round Quillhaven, planned 2026-09-21 \\d\\d:\\d\\d \\S+; sheet ${at + 1} of ${cards.length}`),
        );
    for (const name of ['tags', 'cover', 'report'] as const) {
      expect(pages[name], name).toMatch(/@bottom-left \{ content: "Round [^"]+, planned 2026-09-21 \d\d:\d\d [^"]+"/);
      expect(pages[name], name).toContain('content: "page " counter(page) " of " counter(pages)');
    }
  });

  it('names on a card the file to pick, where a person picks one', () => {
    const picked = cards.filter(({ load }) => load.mode === 'in-os');
    expect(picked.length).toBeGreaterThan(0);
    expect(textOf(pages.a5).match(/File to pick: \S+/g)).toEqual(
      picked.map(({ load }) => `File to pick: ${load.package.name}`),
    );
  });

  it('has the label on each tag as the plate has it, capitals and all', () => {
    for (const { labels } of makeTags(round, records)) {
      expect(labels.length).toBeGreaterThan(0);
      for (const label of labels) expect(round.rooms.map((room) => room.label)).toContain(label);
      expect(textOf(pages.tags)).toContain(labels[0] ?? '');
    }
    expect(textOf(pages.tags)).toContain('K2-second 75/5B');
  });

  it('breaks no build and no box from its word', () => {
    for (const { build, buildBefore } of cards)
      for (const one of [build, buildBefore])
        if (one !== null) expect(pages.a6).toMatch(new RegExp(`class="key mono[^"]*"[^>]*><bdi>${one}</bdi>`));
    expect(pages.a6).toContain('.key.mono { font-family: var(--mono); font-weight: 700; white-space: nowrap; }');
    for (const word of ['done', 'failed', 'skipped'])
      expect(pages.a6).toContain(`<span class="keep"><span class="box" aria-hidden="true"></span> ${word}</span>`);
  });

  it("breaks a package's name on the cover behind its signs alone", () => {
    expect(round.loads.length).toBeGreaterThan(0);
    for (const { package: made } of round.loads) {
      expect(pages.cover.replace(/<[^>]+>/g, '')).toContain(made.name);
      const last = /[^_+-]+$/.exec(made.name)?.[0] ?? '';
      expect(pages.cover).toContain(`<span class="keep">${last}</span>`);
    }
  });

  it('counts and names every row that is no room, on cover and report', () => {
    const counted = `${round.rooms.length + 2} rows: ${round.rooms.length} rooms, 1 cannot be used, 1 says the same as another`;
    for (const name of ['cover', 'report'] as const) {
      expect(textOf(pages[name]), name).toContain(counted);
      expect(textOf(pages[name]), name).toMatch(/Room 9\.01.*Line 3: the label is missing\. Write it\./);
    }
  });

  it('says in the report why a room is held', () => {
    const held = status.rooms.filter(({ progress }) => progress === 'held');
    expect(held.length).toBeGreaterThan(0);
    const said = textOf(pages.report);
    expect(said).toContain(`Held, and why (${held.length})`);
    for (const { room } of held) {
      const why = room.findings.find(({ severity }) => severity === 'stop' || severity === 'unproven');
      expect(why?.seen.length).toBeGreaterThan(10);
      expect(said).toContain(why?.seen.split(/["&']/)[0]);
    }
  });
});
