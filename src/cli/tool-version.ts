import { readFileSync } from 'node:fs';

const packageFile = new URL('../../package.json', import.meta.url);

/** As package.json says. */
export const toolVersion: string = (JSON.parse(readFileSync(packageFile, 'utf8')) as { version: string }).version;
