import { describe, expect, it } from 'vitest';
import { checkShelfFacts, type Reread } from '../../../src/core/shelf/check-shelf.ts';
import { shelve } from '../../fixtures/shelf/shelved.ts';

const package_ = shelve('package.zip', []);
const { sha256, bytes } = package_.record;
const codesOf = (content: Reread): readonly string[] =>
  checkShelfFacts({
    place: '/shelf',
    packages: [package_],
    damaged: [],
    unknown: [],
    reread: [{ shelved: package_, content }],
    leftovers: undefined,
  }).map(({ code }) => code);

describe('a package that was read again', { tags: ['doubt-stays'] }, () => {
  it('is sound where its bytes are those of its record, and nothing else is', () => {
    expect(codesOf({ state: 'read', sha256, bytes })).toEqual(['shelf/sound']);
    expect(codesOf({ state: 'read', sha256: 'f'.repeat(64), bytes })).toEqual(['shelf/content-changed']);
    expect(codesOf({ state: 'unreadable', problem: 'EIO' })).toEqual(['shelf/content-unreadable']);
    expect(codesOf({ state: 'missing' })).toEqual(['shelf/content-missing']);
  });

  it('is not called sound where another desk took it away before it was read', () => {
    expect(codesOf({ state: 'gone' })).toEqual([]);
  });
});
