import { describe, expect, test } from 'vitest';
import type { ArchiveEntry, EntryReading } from '../../src/core/model/archive-facts.ts';
import type { PassListener } from '../../src/io/archive/archive.ts';
import { joinListeners } from '../../src/workflows/examine-archive.ts';
import { fanOut, mostWaitingBytes } from '../../src/workflows/stick/fan-out.ts';

describe('several who hear one pass', { tags: ['archive-read-once'] }, () => {
  const entry = { name: 'a' } as ArchiveEntry;
  const reading = { name: 'a' } as EntryReading;

  test('hear all of it, and nobody is asked who does not listen', async () => {
    const heard: string[] = [];
    const listener: PassListener = {
      raw: (chunk) => void heard.push(`raw ${chunk.length}`),
      entryData: async (of, chunk) => void heard.push(`${of.name} ${chunk.length}`),
    };
    const other: PassListener = { raw: async () => void heard.push('other'), seen: () => void heard.push('seen') };
    const joined = joinListeners([listener, {}, other]);
    expect(Object.keys(joined).toSorted()).toEqual(['entryData', 'raw', 'seen']);
    await joined.raw?.(new Uint8Array(3));
    await joined.entryData?.(entry, new Uint8Array(2));
    joined.seen?.({} as never);
    expect(heard).toEqual(['raw 3', 'other', 'a 2', 'seen']);
    expect(joinListeners([])).toEqual({});
    expect(joinListeners([{ raw: () => {} }]).raw?.(new Uint8Array(1))).toBeUndefined();
  });

  test('are waited for together, and one that throws is heard of', async () => {
    let open = (): void => {};
    const gate = new Promise<void>((resolve) => {
      open = resolve;
    });
    let isDone = false;
    const joined = joinListeners([{ raw: () => gate }, { raw: async () => {} }]);
    const waiting = Promise.resolve(joined.raw?.(new Uint8Array(1))).then(() => {
      isDone = true;
    });
    await new Promise(setImmediate);
    expect(isDone).toBe(false);
    open();
    await waiting;
    const failing = joinListeners([{ raw: async () => Promise.reject(new Error('mine')) }, {}]);
    await expect(failing.raw?.(new Uint8Array(1))).rejects.toThrow('mine');
  });

  test('alone hears it directly; two each get a copy, in order, at their own pace', async () => {
    const one: PassListener = { raw: () => {} };
    expect(Object.keys(fanOut([one]).listener)).toEqual(['raw']);
    await fanOut([one]).drained();
    const given: Uint8Array[] = [];
    const bytes = Uint8Array.of(5);
    fanOut([{ raw: (chunk) => void given.push(chunk) }]).listener.raw?.(bytes);
    expect(given[0]).toBe(bytes);
    expect(fanOut([]).listener).toEqual({});
    expect(Object.keys(fanOut([{ raw: () => {} }, {}]).listener)).toEqual(['raw']);
    expect(Object.keys(fanOut([{ entryData: () => {} }, {}]).listener).toSorted()).toEqual([
      'entryData',
      'entryEnd',
      'entryStart',
    ]);
    let open = (): void => {};
    const gate = new Promise<void>((resolve) => {
      open = resolve;
    });
    const heard: string[][] = [[], []];
    const listeners = heard.map(
      (lines, at): PassListener => ({
        raw: async (chunk) => {
          if (at === 0) await gate;
          lines.push(`raw ${chunk[0]}`);
        },
        entryStart: (of) => void lines.push(`start ${of.name}`),
        entryData: (_of, chunk) => void lines.push(`data ${chunk[0]}`),
        entryEnd: (of, _reading, sound) => void lines.push(`end ${of.name} ${sound}`),
      }),
    );
    const { listener, drained } = fanOut(listeners);
    const chunk = Uint8Array.of(7);
    expect(listener.raw?.(chunk)).toBeUndefined();
    expect(listener.entryStart?.(entry)).toBeUndefined();
    expect(listener.entryData?.(entry, chunk)).toBeUndefined();
    expect(listener.entryEnd?.(entry, reading, false)).toBeUndefined();
    chunk[0] = 9; // it is only valid until the call returns
    await new Promise(setImmediate);
    const all = ['raw 7', 'start a', 'data 7', 'end a false'];
    expect(heard).toEqual([[], all]);
    open();
    await drained();
    expect(heard).toEqual([all, all]);
  });

  test('a slow one holds the pass up at a bounded number of bytes, and not before', async () => {
    const gates: (() => void)[] = [];
    const slow: PassListener = { raw: () => new Promise<void>((resolve) => void gates.push(resolve)) };
    const { listener, drained } = fanOut([slow, { raw: () => {} }]);
    const overhead = 8192;
    const half = new Uint8Array(mostWaitingBytes / 2 - overhead);
    expect(listener.raw?.(half.subarray(1))).toBeUndefined();
    expect(listener.raw?.(half)).toBeUndefined(); // one byte less than too much
    let isThrough = false;
    const waiting = Promise.resolve(listener.raw?.(Uint8Array.of(1))).then(() => {
      isThrough = true;
    });
    await new Promise(setImmediate);
    expect([isThrough, gates.length]).toEqual([false, 1]);
    gates[0]?.();
    await waiting;
    expect(isThrough).toBe(true);
    for (let at = 1; at < 3; at++) {
      await new Promise(setImmediate);
      gates[at]?.();
    }
    await drained();
    // Work that carries no bytes takes room too: a package of many tiny files is mostly that.
    const tiny = fanOut([
      { entryStart: () => new Promise<void>((resolve) => void gates.push(resolve)), entryData: () => {} },
      {},
    ]);
    const most = mostWaitingBytes / overhead;
    const answers = Array.from({ length: most }, () => tiny.listener.entryStart?.(entry));
    expect(answers.slice(0, -1).filter((answer) => answer !== undefined)).toEqual([]);
    expect(answers.at(-1)).toBeInstanceOf(Promise);
    // What is done takes no room any more, however much of it there was.
    const quick = fanOut([{ entryStart: () => {}, entryData: () => {} }, {}]);
    for (let at = 0; at < 2 * most; at++) {
      expect(quick.listener.entryStart?.(entry)).toBeUndefined();
      await new Promise(setImmediate);
    }
  });

  test('waits until there is room, not for the next bit of work only', async () => {
    const gates: (() => void)[] = [];
    const slow: PassListener = { raw: () => new Promise<void>((resolve) => void gates.push(resolve)) };
    const { listener, drained } = fanOut([slow, {}]);
    expect(listener.raw?.(Uint8Array.of(1))).toBeUndefined();
    let isThrough = false;
    // This alone is as much as may wait.
    const waiting = Promise.resolve(listener.raw?.(new Uint8Array(mostWaitingBytes - 8192))).then(() => {
      isThrough = true;
    });
    await new Promise(setImmediate);
    gates[0]?.();
    await new Promise(setImmediate);
    expect([isThrough, gates.length]).toEqual([false, 2]);
    gates[1]?.();
    await waiting;
    await drained();
  });

  test('one that throws hears no more, the others do, and it is told at the end', async () => {
    const heard: number[] = [];
    let calls = 0;
    const mine = new Error('mine');
    const failing: PassListener = {
      raw: () => {
        calls++;
        throw mine;
      },
    };
    const { listener, drained } = fanOut([failing, { raw: (chunk) => void heard.push(chunk[0] ?? 0) }]);
    for (const byte of [1, 2, 3]) await listener.raw?.(Uint8Array.of(byte));
    await expect(drained()).rejects.toBe(mine);
    expect([calls, heard]).toEqual([1, [1, 2, 3]]);
  });

  test('one that listens for something else is not asked, and does not fail', async () => {
    const heard: string[] = [];
    const { listener, drained } = fanOut([
      { raw: () => void heard.push('raw') },
      { entryData: () => void heard.push('data') },
    ]);
    await listener.raw?.(Uint8Array.of(1));
    await listener.entryStart?.(entry);
    await listener.entryData?.(entry, Uint8Array.of(1));
    await listener.entryEnd?.(entry, reading, true);
    await drained();
    expect(heard).toEqual(['raw', 'data']);
  });
});
