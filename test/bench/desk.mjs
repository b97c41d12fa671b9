// What both benchmarks stand on: the built command, a package of the wished size, the words of a preparation, empty
// stick images.
import { mkdirSync, rmSync } from 'node:fs';
import { dirname } from 'node:path';
import { parseArgs } from 'node:util';
import { root, setUp } from '../../bin/set-up.mjs';
import { makeBenchArchive } from './make-bench-archive.mjs';

/** `runs`: how often where nobody says. All paths are relative to the project's folder. */
export async function makeDesk({ runs }) {
  setUp();
  process.chdir(root);
  process.env.STICKWRIGHT_FAMILIES = 'samples/families';
  const { values } = parseArgs({
    options: {
      megabytes: { type: 'string', default: '1000' },
      runs: { type: 'string', default: String(runs) },
      only: { type: 'string', default: '' },
      folder: { type: 'string', default: 'out/bench' },
    },
  });
  const { createStickImage } = await import('../../dist/io/format/image-files.js');
  const { folder, megabytes, only } = values;
  const archiveBytes = Number(megabytes) * 1e6;
  const archive = `${folder}/${megabytes} MB/reed.1717_5B_second_K2.zip`;
  mkdirSync(dirname(archive), { recursive: true });
  await makeBenchArchive(archive, archiveBytes);
  const ours = `"${process.execPath}" bin/stickwright.js`;
  const report = `>"${folder}/report.json"`;
  const accepted = [
    'file-system-not-taken',
    'partition-table-not-taken',
    'larger-than-the-panel-takes',
    'several-partitions',
  ];
  const accept = accepted.map((code) => `--accept stick/${code} --because "a folder in a benchmark"`).join(' ');
  const prepare = (mode, ...sticks) =>
    `${ours} prepare "${archive}" --mode ${mode} --label "K2-second 75/5B" ${sticks.map((stick) => `--stick "${stick}"`).join(' ')} --leftovers set-aside --yes --json ${accept} ${report}`;
  const makeImage = async (path) => {
    rmSync(path, { force: true });
    const bytes = Math.ceil((archiveBytes * 1.6 + 2e8) / 2 ** 20) * 2 ** 20;
    await createStickImage(path, { bytes, fileSystem: 'fat32', partitioned: true });
  };
  return { folder, megabytes, only, runs: Number(values.runs), archive, ours, report, prepare, makeImage };
}
