import stringWidth from 'string-width';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { startProgress } from '../../src/cli/frame/progress.ts';
import type { JobPlace, WorkEvent } from '../../src/core/report/reports.ts';
import { Meters } from '../../src/render/text/render-progress.ts';

const megabyte = 1e6;
const places: Readonly<Record<'writing' | 'flushing' | 'reading-back', JobPlace>> = {
  writing: { step: 1, steps: 4, beforeBytes: 0, allBytes: 200 * megabyte },
  flushing: { step: 2, steps: 4, beforeBytes: 100 * megabyte, allBytes: 200 * megabyte },
  'reading-back': { step: 3, steps: 4, beforeBytes: 100 * megabyte, allBytes: 200 * megabyte },
};

const stage = (target: string, name: keyof typeof places): WorkEvent => ({
  kind: 'stage',
  target,
  stage: name,
  totalBytes: name === 'flushing' ? 0 : 100 * megabyte,
  job: places[name],
});
const progress = (target: string, name: keyof typeof places, doneBytes: number): WorkEvent => ({
  kind: 'progress',
  target,
  stage: name,
  doneBytes,
  totalBytes: 100 * megabyte,
});

describe('the progress of a preparation', () => {
  it('tells share and time of the whole job, and what the step has done', () => {
    const meters = new Meters();
    meters.hear(stage('E:', 'writing'), 0);
    meters.hear(progress('E:', 'writing', 50 * megabyte), 10_000);
    // 50 of 200 MB in 10 s: the other 150 MB, which are read back too, take 30 s.
    expect(meters.lines(10_000, 80)).toEqual([
      ' 25 %  step 1 of 4: writing 50.0 MB of 100 MB, 5.00 MB/s  0:30 left  E:',
    ]);
    meters.hear(stage('E:', 'flushing'), 20_000);
    expect(meters.lines(30_000, 80)).toEqual([
      ' 50 %  step 2 of 4: waiting until the stick has taken it  0:30 left  E:',
    ]);
    meters.hear(stage('E:', 'reading-back'), 30_000);
    meters.hear(progress('E:', 'reading-back', 99.9 * megabyte), 40_000);
    expect(meters.lines(40_000, 80)).toEqual([expect.stringContaining(' 99 %  step 3 of 4: reading back')]);
  });

  it('has a line for all sticks together, and says of each that is done or stopped that it is', () => {
    const meters = new Meters();
    for (const target of ['E:', 'F:']) meters.hear(stage(target, 'writing'), 0);
    meters.hear(progress('E:', 'writing', 100 * megabyte), 10_000);
    meters.hear(progress('F:', 'writing', 20 * megabyte), 10_000);
    expect(meters.lines(10_000, 80).at(-1)).toBe(' 30 %  all 2 sticks  1:30 left');
    meters.hear({ kind: 'end', target: 'E:', state: 'written' }, 11_000);
    expect(meters.lines(11_000, 80)[0]).toBe('Written, read back and recorded.  E:');
    meters.hear({ kind: 'end', target: 'F:', state: 'unfinished' }, 12_000);
    expect(meters.lines(12_000, 80)).toEqual(['Written, read back and recorded.  E:', 'Not finished.  F:']);
  });

  it('says nothing of the archive while the sticks say how far they are', () => {
    const meters = new Meters();
    meters.hear(stage('E:', 'writing'), 0);
    meters.hear({ kind: 'stage', target: 'update.zip', stage: 'reading', totalBytes: 5 }, 0);
    expect(meters.lines(1000, 80).join('\n')).not.toContain('update.zip');
  });

  it('cuts nothing: a long name has lines of its own, and none is wider than the terminal', () => {
    const meters = new Meters();
    const target = `/media/somebody/${'a very long name of a stick '.repeat(6)}end`;
    meters.hear(stage(target, 'writing'), 0);
    meters.hear(progress(target, 'writing', 12 * megabyte), 1000);
    for (const columns of [40, 80, 120]) {
      const lines = meters.lines(1000, columns);
      for (const line of lines) expect(stringWidth(line)).toBeLessThan(columns);
      expect(lines.join('').replaceAll(' ', '')).toContain(target.replaceAll(' ', ''));
    }
  });
});

describe('where it is said', () => {
  afterEach(() => vi.useRealTimers());

  function stream(terminal: boolean) {
    const written: string[] = [];
    const write = (text: string): boolean => written.push(text) > 0;
    return { written, as: { isTTY: terminal, columns: 80, write } as unknown as NodeJS.WriteStream };
  }

  it('in a log is a line every 30 seconds, also while nothing is heard, and none when it is over', () => {
    // A clock that is turned by hand: nobody waits half a minute in a test.
    vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval', 'performance'] });
    const { written, as } = stream(false);
    const { tell, end } = startProgress(as, { quiet: false });
    tell(stage('E:', 'writing'));
    tell(progress('E:', 'writing', 50 * megabyte));
    vi.advanceTimersByTime(29_000);
    expect(written.join('')).toBe('');
    vi.advanceTimersByTime(62_000);
    expect(written.join('').match(/step 1 of 4/g)).toHaveLength(3);
    end();
    written.length = 0;
    vi.advanceTimersByTime(120_000);
    expect(written).toEqual([]);
  });

  it('on a terminal is gone when it is over, and what comes next begins anew', () => {
    const { written, as } = stream(true);
    const { tell, end } = startProgress(as, { quiet: false });
    tell(stage('E:', 'writing'));
    end();
    expect(written.at(-1)).toBe('\x1b[1A\x1b[0J');
    tell(stage('F:', 'writing'));
    expect(written.at(-1)).not.toContain('E:');
  });
});
