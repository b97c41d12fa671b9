import { Option } from '@commander-js/extra-typings';
import { fileNamed } from '../desk.ts';
import { confirmed, isAskable } from '../frame/agree.ts';
import { command, type Frame } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { aside, note } from '../frame/screen.ts';
import { collect, family, shelf } from '../words.ts';
import { deskParts } from './desk-parts.ts';

export const desk = command({
  words: (it) =>
    it
      .description(
        'Opens the desk in a window: a page in the browser that is there anyway, served to this computer and nobody else. It does the whole job; nothing leaves the computer. Ctrl-C ends it.',
      )
      .option('--port <number>', 'where the page is served (default: any that is free)')
      .option('--no-open', 'print the address and open no browser')
      .addOption(
        new Option('-s, --stick <target>', 'a folder or image file to offer as a stick; may be given several times')
          .argParser(collect)
          .default([] as readonly string[], 'what is plugged in'),
      )
      .addOption(shelf())
      .addOption(family())
      .option('--round <dir>', 'the folder of a round (default: STICKWRIGHT_ROUND, or the only one here)')
      .option('--who <name>', 'whose records this desk writes (default: STICKWRIGHT_WHO)')
      .option('--raised', 'serve although this runs with the rights of an administrator'),
  examples: ['stickwright desk', 'stickwright desk --no-open --port 8750', 'stickwright desk --stick stick.img'],
  run: async (options, frame) => {
    const port = readPort(options.port);
    if (options.raised !== true) await refuseRaisedRights();
    const { resolve } = await import('node:path');
    const { systemWordOf } = await import('../../core/model/tool-error.ts');
    const { serveDesk } = await import('../../server/serve-desk.ts');
    const words = {
      families: await Promise.all(options.family.map(fileNamed)),
      familyPaths: options.family,
      shelf: options.shelf,
      round: options.round,
      who: options.who,
      sticks: options.stick.map((target) => resolve(target)),
    };
    const served = await serveDesk(deskParts(words), { port }).catch((error: unknown) => {
      throw systemWordOf(error) === 'EADDRINUSE' ? portTaken(port) : error;
    });
    const { signal } = frame.atWork(() => mayClose(served.underWay(), frame));
    const address = served.newAddress();
    aside(
      `The desk is open: ${address}\nThe address is good for a minute and for one browser. Ctrl-C closes the desk.\n`,
    );
    if (options.open) await openAddress(address);
    await untilStopped(signal, served.underWay);
    await served.close((about) => note(`No sign comes of ${about}: it is left where it stands. Pull its stick out.`));
    return 0;
  },
  text: async () => '',
});

async function refuseRaisedRights(): Promise<void> {
  const { hasRaisedRights } = await import('../../io/programs/raised-rights.ts');
  if ((await hasRaisedRights()) !== true) return;
  const asYourself =
    process.platform === 'win32' ? 'Open it from a window that was not started as administrator' : 'Run it as yourself';
  throw new UsageError(
    'The desk would run with the rights of an administrator, and so would everything that a page asks of it.',
    `${asYourself}; what needs more rights is said where it is needed. If it must be: --raised.`,
  );
}

function readPort(text: string | undefined): number {
  if (text === undefined) return 0;
  const port = Number(text);
  if (/^\d{1,5}$/.test(text) && port >= 1024 && port <= 65_535) return port;
  throw new UsageError(`--port ${text} is no port that a desk can have.`, 'Give a number from 1024 to 65535, or none.');
}

const portTaken = (port: number): UsageError =>
  new UsageError(
    `Something else is served at port ${port} already, perhaps another desk.`,
    'Close that one, or leave --port away: then one that is free is taken.',
  );

async function openAddress(address: string): Promise<void> {
  const { openInBrowser } = await import('../../io/programs/open-in-browser.ts');
  const failure = await openInBrowser(address);
  if (failure !== undefined) note(`No browser could be opened (${failure}). Open the address yourself.`);
}

/** With nothing under way, or nobody to ask, the desk is closed at once. */
async function mayClose(underWay: readonly string[], frame: Frame): Promise<boolean> {
  if (underWay.length === 0 || !isAskable(frame)) return true;
  const closes = await confirmed(`Under way: ${underWay.join('; ')}. Stop at a clean place and close the desk?`);
  if (!closes) note('The desk stays open, and the work goes on.');
  return closes;
}

/** Until it is to be closed; says what is under way then. One more Ctrl-C ends it at once, as it ends every command. */
async function untilStopped(signal: AbortSignal, underWay: () => readonly string[]): Promise<void> {
  if (!signal.aborted)
    await new Promise<void>((resolve) => signal.addEventListener('abort', () => resolve(), { once: true }));
  const left = underWay();
  if (left.length > 0) {
    note(`Under way: ${left.join('; ')}.`);
    note('It stops at a clean place; what is unfinished says not ready, and the same job finishes it.');
  }
}
