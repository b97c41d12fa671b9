import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect } from 'vitest';
import { readPackageFile } from '../fixtures/update-packages/read-package.ts';
import { needs } from './needs.ts';

const it = needs({ python3: 'python3' });

/**
 * Writes a package with Python's zipfile and computes its places as AOSP's build tools do
 * (build/tools/releasetools/ota_utils.py, ComputeEntryOffsetSize), with extra fields that make offsets differ.
 */
const script = `
import os, struct, sys, zipfile
path, shift = sys.argv[1], int(sys.argv[2])
def write(places):
    with zipfile.ZipFile(path, 'w') as z:
        for name, data, extra in (
            ('care_map.pb', b'care', b''),
            ('apex_info.pb', b'apex' * 300, struct.pack('<HH3s', 0xd935, 3, b'\\\\0' * 3)),
            ('META-INF/com/android/metadata', b'ota-type=BLOCK\\npre-device=lantern75\\nota-property-files=' + places.encode().ljust(150) + b'\\n', b''),
        ):
            info = zipfile.ZipInfo(name, (2024, 1, 17, 0, 0, 0))
            info.extra = extra
            z.writestr(info, data)
    with zipfile.ZipFile(path) as z:
        tokens = []
        for info in z.infolist():
            offset = info.header_offset + zipfile.sizeFileHeader + len(info.extra) + len(info.filename)
            tokens.append('%s:%d:%d' % (os.path.basename(info.filename), offset + shift, info.file_size))
    return ','.join(tokens)
write(write(''))
`;

for (const [shift, stops] of [
  [0, []],
  [1, ['update/property-files-differ']],
] as const) {
  it(`places that Python computed as AOSP does, shifted by ${shift}`, async () => {
    const folder = mkdtempSync(join(tmpdir(), 'stickwright-places-'));
    const path = join(folder, 'package.zip');
    try {
      const run = spawnSync('python3', ['-c', script, path, String(shift)], { encoding: 'utf8' });
      expect(run.stderr).toBe('');
      const { facts, stops: found } = await readPackageFile(path);
      expect(facts.propertyFiles.places).toHaveLength(3);
      expect(found).toEqual(stops);
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
}
