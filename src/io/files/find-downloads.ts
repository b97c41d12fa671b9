import { readdir } from 'node:fs/promises';
import { homedir } from 'node:os';
import { join, resolve } from 'node:path';
import envPaths from 'env-paths';
import { readTextFile } from './regular-file.ts';

interface Download {
  readonly path: string;
  readonly name: string;
  readonly place: string;
}

/** More files than that are no download folder that a person looks through. */
const mostFiles = 500;

/** Zip files in the person's download folder and in the folder that they work in, by name. */
export async function findDownloads(
  environment: Readonly<Record<string, string | undefined>>,
  here = process.cwd(),
): Promise<readonly Download[]> {
  const downloads = await downloadFolder(environment);
  const listed = await Promise.all([zipFiles(here, 'here'), zipFiles(downloads, 'in the download folder')]);
  const found = listed.flat();
  return found.filter(({ path }, index) => found.findIndex((other) => other.path === path) === index);
}

async function zipFiles(folder: string, place: string): Promise<readonly Download[]> {
  const rows = await readdir(folder, { withFileTypes: true }).catch(() => []);
  return rows
    .filter((row) => !row.isDirectory() && /\.zip$/i.test(row.name))
    .slice(0, mostFiles)
    .map(({ name }) => ({ path: join(resolve(folder), name), name, place }));
}

/** XDG_DOWNLOAD_DIR, else as xdg-user-dirs keeps it, else the folder that Windows, macOS and browsers use. */
async function downloadFolder({ XDG_DOWNLOAD_DIR: named }: Readonly<Record<string, string | undefined>>) {
  const home = homedir();
  if (named !== undefined && named !== '') return named;
  const config = resolve(envPaths('stickwright', { suffix: '' }).config, '..', 'user-dirs.dirs');
  const text = await readTextFile(config).catch(() => '');
  const kept = /^XDG_DOWNLOAD_DIR="(?:\$HOME\/)?([^"]*)"/m.exec(text);
  return kept?.[1] === undefined ? join(home, 'Downloads') : resolve(home, kept[1]);
}
