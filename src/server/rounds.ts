import { randomUUID } from 'node:crypto';
import { existsSync } from 'node:fs';
import { readdir } from 'node:fs/promises';
import { basename, extname, join } from 'node:path';
import { failureOf } from '../core/model/tool-error.ts';
import type { RoundNamed, RoundSeen } from '../core/report/round-talk.ts';
import { listPreparations } from '../core/rounds/prepare/list-preparations.ts';
import { relateBuilds } from '../core/rounds/records/read-visit.ts';
import { deskDataFolder, openDraft } from '../io/files/drafts.ts';
import { openRound } from '../io/rounds/open-round.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';
import { roundStatusDocument } from '../render/json/round-documents.ts';
import { errorInSentences } from '../render/text/render-findings.ts';
import type { RoundDesk } from '../workflows/round-desk.ts';
import { roundStatus } from '../workflows/round-status.ts';
import type { DeskParts } from './desk-parts.ts';
import { refusal } from './routes/body.ts';

/** The rounds that the page may name, and the one that lies on the desk. */
export class Rounds {
  readonly #parts: DeskParts;
  readonly #laid: (place: string) => void;
  #chosen: RoundFolder | undefined;

  /** LAID hears of every other round that is laid on the desk than the one at PLACE. */
  constructor(parts: DeskParts, { place, laid }: { place: string | undefined; laid: (place: string) => void }) {
    this.#parts = parts;
    this.#laid = laid;
    if (place !== undefined) this.take(place);
  }

  /** Where the round lies that is on the desk; undefined where nobody has asked for it yet. */
  get place(): string | undefined {
    return this.#chosen?.place;
  }

  /** It was laid on the desk elsewhere. */
  take(place: string): void {
    this.#chosen = openRound(place, this.#parts.who);
  }

  /** As the command line named it, else the one that lay here last. */
  async folder(): Promise<RoundFolder | undefined> {
    if (this.#chosen !== undefined) return this.#chosen;
    const { place = '' } = (await openDraft('round')).answers;
    this.#chosen = (await this.#parts.round()) ?? (existsSync(place) ? openRound(place, this.#parts.who) : undefined);
    return this.#chosen;
  }

  /** The same where a plan must lie in it. */
  async planned(): Promise<RoundFolder> {
    const folder = await this.folder();
    if (folder === undefined) throw refusal(409, 'No round lies on the desk. Drop a room list first.');
    return folder;
  }

  async named(): Promise<readonly RoundNamed[]> {
    const own = join(deskDataFolder(), 'rounds');
    const names = await readdir(own).catch(() => []);
    const folder = await this.folder();
    const others = names.filter((name) => name.endsWith('.round')).map((name) => join(own, name));
    const places = new Set([...(folder === undefined ? [] : [folder.place]), ...others.toSorted()]);
    return await Promise.all(
      [...places].map(async (place) => {
        const plan = await openRound(place, this.#parts.who)
          .plan()
          .catch(() => undefined);
        return { place, name: basename(place, '.round'), plannedAt: plan?.plannedAt };
      }),
    );
  }

  /** The round that counts on the stick of this CODE: the one on the desk, else another that the page may name. */
  async ofStick(code: string): Promise<RoundFolder | undefined> {
    const places = (await this.named()).map(({ place }) => place);
    const first = (await this.folder())?.place;
    for (const place of places.toSorted((a, b) => Number(b === first) - Number(a === first))) {
      const folder = openRound(place, this.#parts.who);
      const { records } = await folder.records().catch(() => ({ records: [] }));
      if (records.some((record) => record.kind === 'prepared' && record.stick === code)) return folder;
    }
    return undefined;
  }

  /** Lays one of those on the desk that the page was shown. */
  async choose(place: string): Promise<void> {
    if (!(await this.named()).some((one) => one.place === place))
      throw refusal(409, 'That round is not where it was: look at the rounds again.');
    await this.lay(openRound(place, this.#parts.who));
  }

  /** A new folder for the round of LIST, in the data folder; a name that is taken gets a number. */
  async begin(list: string): Promise<RoundFolder> {
    const stem = basename(list, extname(list)).replace(/[^\p{L}\p{N} ._-]/gu, '_') || 'round';
    const at = (number: number): string =>
      join(deskDataFolder(), 'rounds', `${stem}${number === 1 ? '' : `-${number}`}.round`);
    let number = 1;
    while (existsSync(at(number))) number += 1;
    return openRound(at(number), this.#parts.who);
  }

  async lay(folder: RoundFolder): Promise<void> {
    this.#chosen = folder;
    this.#laid(folder.place);
    await (await openDraft('round')).keep({ place: folder.place });
  }

  /** Families, shelf and the words that name them: what a plan is made with. */
  async kit() {
    const [{ families }, { shelf }] = await Promise.all([this.#parts.families(), this.#parts.shelf({ make: false })]);
    return { families, shelf, paths: this.#parts.words.familyPaths };
  }

  /** What the workflows on records work with. */
  async desk(): Promise<RoundDesk> {
    const { now, digesting } = await this.#parts.ports();
    return {
      folder: await this.planned(),
      families: async (named) => (await this.#parts.families(named)).families,
      sha256: digesting.sha256,
      now,
      newId: randomUUID,
    };
  }

  async seen(): Promise<RoundSeen> {
    const rounds = await this.named();
    const folder = await this.folder();
    const nothing = { place: folder?.place, rounds, plan: undefined, status: undefined, todo: [], problem: undefined };
    try {
      const plan = await folder?.plan();
      if (folder === undefined || plan === undefined) return nothing;
      const report = await roundStatus(await this.desk());
      const { families } = await this.#parts.families(plan.families).catch(() => ({ families: [] }));
      const { todo } = listPreparations(plan, (await folder.records()).records, relateBuilds(families));
      return { ...nothing, plan, status: roundStatusDocument(report, 0), todo };
    } catch (error) {
      return { ...nothing, problem: errorInSentences(failureOf(error)) };
    }
  }
}
