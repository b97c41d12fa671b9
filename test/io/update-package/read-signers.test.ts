import { createHash } from 'node:crypto';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { readSigners } from '../../../src/io/update-package/read-signers.ts';
import { derOf, makeSigner } from '../../fixtures/update-packages/sign-package.ts';
import { needs } from '../../outside/needs.ts';

const it = needs({ openssl: 'openssl' });

describe('a file of trusted certificates', () => {
  let folder = '';
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'stickwright-signers-'));
  });
  afterAll(() => rm(folder, { recursive: true }));

  const fingerprints = async (path: string): Promise<readonly string[]> =>
    (await readSigners(path)).map((der) => createHash('sha256').update(der).digest('hex'));

  it('is read as PEM, as DER, and with several in it, with text around them', async () => {
    const one = makeSigner('ec-p256', 'sha256');
    const two = makeSigner('ec-p256', 'sha256');
    expect(await fingerprints(one.certificate)).toEqual([one.fingerprint]);
    const der = join(folder, 'one.der');
    await writeFile(der, derOf(one.certificate));
    expect(await fingerprints(der)).toEqual([one.fingerprint]);
    const both = join(folder, 'both.pem');
    const texts = await Promise.all([one, two].map(({ certificate }) => readFile(certificate, 'latin1')));
    await writeFile(both, `first\r\n${texts.join('second\r\n')}`.replaceAll('\n', '\r\n'));
    expect(await fingerprints(both)).toEqual([one.fingerprint, two.fingerprint]);
  });

  it('is refused where it is missing, a key, or something else', async () => {
    await expect(readSigners(join(folder, 'nowhere.pem'))).rejects.toMatchObject({ code: 'file/not-found' });
    const { key } = makeSigner('ec-p256', 'sha256');
    await expect(readSigners(key)).rejects.toMatchObject({ code: 'file/unreadable' });
    const large = join(folder, 'large.pem');
    await writeFile(large, Buffer.alloc(2_000_000, 'x'));
    await expect(readSigners(large)).rejects.toMatchObject({ code: 'file/unreadable' });
    await expect(readSigners(folder)).rejects.toMatchObject({ code: 'file/unreadable' });
  });
});
