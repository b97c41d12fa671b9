import { afterAll, describe, expect } from 'vitest';
import { lookAtDesk } from '../../../src/io/files/look-at-desk.ts';
import { canMount } from '../../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch } from '../../fixtures/volumes/scratch.ts';
import { slowStick, slowStickNeeds } from '../../fixtures/window/slow-stick.ts';
import { itWithout, needs } from '../../outside/needs.ts';

// nbdkit stands still behind nbdfuse: the kernel waits for it as for a dying disk or a server that is gone.
const check = canMount ? needs(slowStickNeeds) : itWithout('the right to mount (root)');

describe('a look at the desk', () => {
  const scratch = makeScratch();
  afterAll(() => scratch.undo());

  check('says of what hangs that no answer came, and answers for all else', async () => {
    const image = await makeFatImage(`${scratch.path}/disk.img`, 2 ** 20, { kind: 'fat12' });
    const disk = await slowStick(scratch, image);
    disk.hang();
    try {
      const found = await lookAtDesk({ ...process.env, STICKWRIGHT_FAMILIES: disk.path }, process.platform, 5000);
      const silent = found.filter(({ detail }) => detail.startsWith('No answer within 5 s'));
      expect(silent).toMatchObject([{ name: 'families', state: 'broken' }]);
      expect(found.find(({ name }) => name === 'node')).toMatchObject({ state: 'there' });
      expect(found).toHaveLength(10);
    } finally {
      disk.answerAgain();
    }
  });
});
