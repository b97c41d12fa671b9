import type { SealSeen } from '../../core/report/window-talk.ts';
import { command } from '../frame/command.ts';

export const sealNew = command({
  words: (it) =>
    it.description(
      'Makes an Ed25519 key in your own folder, or where STICKWRIGHT_SEAL_KEY says. Never overwrites one.',
    ),
  examples: ['stickwright seal new'],
  run: async () => {
    const { makeSeal } = await import('../../io/files/seal-facts.ts');
    return { verdict: 'ready' as const, ...makeSeal(process.env) };
  },
  text: async (made) => {
    const { holds, give, keep } = (await import('../../core/report/seal-words.ts')).sealAdvice;
    return `Made a key for this desk.\n\n${facts(made)}\n${holds}\n${give}\nstickwright verify /media/stick --seal-from ${made.publicPath}\n${keep}\n`;
  },
});

export const sealShow = command({
  words: (it) => it.description('Names the key and its files.'),
  examples: ['stickwright seal show'],
  run: async () => {
    const { expectSeal } = await import('../../io/files/seal-facts.ts');
    return { verdict: 'ready' as const, ...expectSeal(process.env) };
  },
  text: async (key) => facts(key),
});

const facts = ({ name, publicPath, privatePath }: SealSeen): string =>
  `Key        ${name}\nPublic     ${publicPath}\nPrivate    ${privatePath}\n`;
