import { appendFileSync, fstatSync, openSync, readSync } from 'node:fs';
import { join, relative } from 'node:path';
import { Worker } from 'node:worker_threads';
import { startTests } from '@vitest/runner';
import { configureGlobal } from 'fast-check';
import { type RunnerTestCase, type RunnerTestFile, type RunnerTestSuite, TestRunner, vi } from 'vitest';

const path = join(process.env.STICKWRIGHT_MUTANTS ?? '', 'journal.jsonl');

type Entry =
  | { readonly kind: 'loaded'; readonly mutants: readonly string[] }
  | { readonly kind: 'covered'; readonly test: string; readonly mutants: readonly string[] }
  | { readonly kind: 'killed' | 'survived' | 'timeout'; readonly mutant: string; readonly test: string }
  | { readonly kind: 'cannot-be-repeated'; readonly test: string }
  | { readonly kind: 'done'; readonly file: string };

/** What every worker found out so far, one line each. */
class Journal {
  readonly #file = openSync(path, 'a+');
  readonly #settled = new Set<string>();
  readonly #reached = new Set<string>();
  #readBytes = 0;

  write(entry: Entry): void {
    appendFileSync(path, `${JSON.stringify(entry)}\n`);
  }

  catchUp(): void {
    const news = Buffer.alloc(fstatSync(this.#file).size - this.#readBytes);
    readSync(this.#file, news, 0, news.length, this.#readBytes);
    const whole = news.subarray(0, news.lastIndexOf('\n') + 1);
    this.#readBytes += whole.length;
    for (const line of whole.toString().split('\n').filter(Boolean)) {
      const entry = JSON.parse(line) as Entry;
      if (entry.kind === 'killed' || entry.kind === 'timeout') this.#settled.add(entry.mutant);
      else if (entry.kind === 'survived') this.#settled.add(`${entry.mutant} ${entry.test}`);
      else if (entry.kind === 'covered') for (const mutant of entry.mutants) this.#reached.add(mutant);
      else if (entry.kind === 'cannot-be-repeated') this.#settled.add(entry.test);
    }
  }

  /** By some test while it ran. */
  isReached(mutant: string): boolean {
    return this.#reached.has(mutant);
  }

  /** Noticed by some test, or tried with this one. */
  isSettled(mutant: string, test: string): boolean {
    return [mutant, test, `${mutant} ${test}`].some((one) => this.#settled.has(one));
  }
}

/**
 * Runs each test once as it is, and then once for each mutant that it reaches and that no test has noticed yet, in the
 * process that has loaded everything already: a mutant costs what its test costs, and no start. All workers share one
 * journal. A process that a mutant spoilt (the test fails without any mutant afterwards) or held up ends at once;
 * `run.mjs` starts another, which goes on from the journal.
 */
export default class TryMutants extends TestRunner {
  readonly #journal = new Journal();
  #loaded: readonly string[] = [];
  readonly #remembered = new Set<string>();
  #hasTried = false;

  onBeforeRunFiles(): void {
    this.#loaded = Object.keys(stryker.mutantCoverage?.static ?? {});
    this.#journal.write({ kind: 'loaded', mutants: this.#loaded });
  }

  async runTask(test: RunnerTestCase): Promise<void> {
    const name = nameOf(test);
    const run = TestRunner.getTestFn(test);
    const startedMs = performance.now();
    stryker.currentTestId = name;
    try {
      await run();
    } catch (error) {
      if (this.#hasTried) endNow();
      throw error;
    } finally {
      stryker.currentTestId = undefined;
    }
    const hits = hitsOf(name);
    const limitMs = 10_000 + 20 * (performance.now() - startedMs);
    if (this.#left(name, hits).length === 0)
      return this.#journal.write({ kind: 'covered', test: name, mutants: Object.keys(hits) });
    await callHooks(test, 'afterEach');
    stryker.currentTestId = `${name} again`;
    const isRepeatable = !(await this.#fails(test));
    if (!isRepeatable && this.#hasTried) endNow();
    stryker.currentTestId = undefined;
    const again = hitsOf(`${name} again`);
    // What is remembered from the first time is not looked at a second time: only a process that loads anew tells.
    for (const mutant of Object.keys(hits)) if (!Object.hasOwn(again, mutant)) this.#remembered.add(mutant);
    this.#journal.write({ kind: 'covered', test: name, mutants: Object.keys(again) });
    if (isRepeatable) await this.#tryAll(test, again, limitMs);
    else this.#journal.write({ kind: 'cannot-be-repeated', test: name });
    await callHooks(test, 'beforeEach');
  }

  async #tryAll(test: RunnerTestCase, hits: Readonly<Record<string, number>>, limitMs: number): Promise<void> {
    const name = nameOf(test);
    for (const mutant of this.#left(name, hits)) {
      if (!this.#left(name, hits).includes(mutant)) continue; // another worker was quicker
      this.#hasTried = true;
      watched(Number(mutant), limitMs);
      const isNoticed = await this.#fails(test, mutant, 100 * (hits[mutant] ?? 1));
      watched(0, 0);
      this.#journal.write({ kind: isNoticed ? 'killed' : 'survived', mutant, test: name });
      if (isNoticed && (await this.#fails(test))) endNow();
    }
  }

  override async onAfterRunFiles(files: readonly RunnerTestFile[] = []): Promise<void> {
    for (const { filepath } of files) {
      await this.#tryWhatOnlyLoads(filepath);
      this.#journal.write({ kind: 'done', file: relative('.', filepath) });
    }
    super.onAfterRunFiles();
  }

  /** What is looked at while the modules load alone is tried by loading them anew. */
  async #tryWhatOnlyLoads(filepath: string): Promise<void> {
    const test = relative('.', filepath);
    const loaded = Object.fromEntries([...this.#loaded, ...this.#remembered].map((mutant) => [mutant, 1]));
    let isRepeatable: boolean | undefined;
    for (const mutant of this.#left(test, loaded)) {
      const isReached = this.#journal.isReached(mutant) && !this.#remembered.has(mutant);
      if (isReached || !this.#left(test, loaded).includes(mutant)) continue;
      // A file that fails a second time as it is says nothing of any mutant.
      isRepeatable ??= !(await this.#failsAnew(filepath));
      if (!isRepeatable) return this.#journal.write({ kind: 'cannot-be-repeated', test });
      const isNoticed = await this.#failsAnew(filepath, mutant);
      this.#journal.write({ kind: isNoticed ? 'killed' : 'survived', mutant, test });
    }
  }

  /** The whole file, loaded anew. */
  async #failsAnew(filepath: string, mutant?: string): Promise<boolean> {
    watched(Number(mutant ?? 0), mutant === undefined ? 0 : 120_000);
    vi.resetModules();
    stryker.activeMutant = mutant;
    const [file] = await startTests([filepath], this.#unheard());
    stryker.activeMutant = undefined;
    watched(0, 0);
    return file === undefined || hasFailed(file);
  }

  /** A runner whose results go nowhere, and which stops at the first failure. */
  #unheard(): TestRunner {
    const quiet = async () => {};
    const runner = Object.assign(Object.create(this), { runTask: undefined, cancelRun: false });
    for (const name of ['onTaskUpdate', 'onCollected', 'onCollectStart', 'onBeforeRunFiles', 'onAfterRunFiles'])
      runner[name] = quiet;
    runner.onAfterRunTask = (test: RunnerTestCase) => {
      runner.cancelRun ||= test.result?.state === 'fail';
    };
    return runner;
  }

  #left(test: string, hits: Readonly<Record<string, number>>): readonly string[] {
    this.#journal.catchUp();
    return Object.keys(hits).filter((mutant) => !this.#journal.isSettled(mutant, test));
  }

  /** The test once more, with what stands around each. */
  async #fails(test: RunnerTestCase, mutant?: string, hitLimit = 0): Promise<boolean> {
    await callHooks(test, 'beforeEach');
    this.onBeforeTryTask(test);
    Object.assign(stryker, { activeMutant: mutant, hitCount: 0, hitLimit });
    let isNoticed = false;
    try {
      await TestRunner.getTestFn(test)();
      this.onAfterTryTask(test);
    } catch {
      isNoticed = true;
    }
    stryker.activeMutant = undefined;
    await callHooks(test, 'afterEach').catch(() => {
      isNoticed = true;
    });
    return isNoticed;
  }
}

async function callHooks(test: RunnerTestCase, name: 'beforeEach' | 'afterEach'): Promise<void> {
  const outwards = suitesOf(test);
  for (const suite of name === 'afterEach' ? outwards : outwards.toReversed())
    for (const hook of TestRunner.getSuiteHooks(suite)[name]) await hook(test.context, suite);
}

/** What Stryker's instrumented code reads and writes (its `INSTRUMENTER_CONSTANTS`). */
interface Instrumented {
  activeMutant?: string | undefined;
  currentTestId?: string | undefined;
  mutantCoverage?: {
    readonly static: Readonly<Record<string, number>>;
    readonly perTest: Readonly<Record<string, Readonly<Record<string, number>>>>;
  };
}

const stryker: Instrumented = Object.assign(globalThis, { __stryker__: {} }).__stryker__;

const hitsOf = (name: string): Readonly<Record<string, number>> => stryker.mutantCoverage?.perTest[name] ?? {};

// The first failure says enough; looking for a smaller one takes longer than all the rest.
configureGlobal({ endOnFailure: true });

const nameOf = (test: RunnerTestCase): string => `${relative('.', test.file.filepath)} > ${test.fullTestName}`;

function suitesOf(test: RunnerTestCase): readonly RunnerTestSuite[] {
  const suites: RunnerTestSuite[] = [];
  for (let suite = test.suite; suite !== undefined; suite = suite.suite) suites.push(suite);
  return [...suites, test.file];
}

const hasFailed = (suite: RunnerTestSuite): boolean =>
  suite.result?.state === 'fail' ||
  suite.tasks.some((task) => (task.type === 'suite' ? hasFailed(task) : task.result?.state === 'fail'));

function endNow(): never {
  process.kill(process.pid, 'SIGKILL');
  throw new Error('ended');
}

/** Beats, the limit in ticks (0: nothing is being tried), and the mutant. */
const pulse = new Int32Array(new SharedArrayBuffer(12));
const tickMs = 500;

function watched(mutant: number, limitMs: number): void {
  Atomics.store(pulse, 1, Math.ceil(limitMs / tickMs));
  Atomics.store(pulse, 2, mutant);
  Atomics.add(pulse, 0, 1);
}

// A thread of its own, because a mutant may hold this one up for ever. It counts ticks, not time: a machine that sleeps
// is no mutant's doing.
const watch = `
  const { workerData: { pulse, path, tickMs } } = require('node:worker_threads');
  let [beat, ticks] = [0, 0];
  setInterval(() => {
    ticks = beat === Atomics.load(pulse, 0) ? ticks + 1 : 0;
    beat = Atomics.load(pulse, 0);
    const [, limit, mutant] = pulse;
    if (limit === 0 || ticks <= limit) return;
    const entry = JSON.stringify({ kind: 'timeout', mutant: String(mutant), test: '' });
    require('node:fs').appendFileSync(path, entry + '\\n');
    process.kill(process.pid, 'SIGKILL');
  }, tickMs);
`;
new Worker(watch, { eval: true, workerData: { pulse, path, tickMs } }).unref();
