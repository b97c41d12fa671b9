import { command } from '../frame/command.ts';

export const sealNew = command({
  words: (it) =>
    it.description(
      'Makes an Ed25519 key in your own folder, or where STICKWRIGHT_SEAL_KEY says. Never overwrites one.',
    ),
  examples: ['stickwright seal new'],
  run: async () => {
    const { keyFiles, newDeskKey } = await import('../../io/files/desk-key.ts');
    const files = keyFiles(process.env);
    return { verdict: 'ready' as const, ...(await nameOf(newDeskKey(files).publicKey)), ...files };
  },
  text: async (made) =>
    `Made a key for this desk.\n\n${facts(made)}\nFrom now on every stick prepared here is sealed with it. Give the public file to whoever\nverifies sticks: stickwright verify /media/stick --seal-from ${made.publicPath}\nKeep the private file to yourself, and a copy of it in a safe place.\n`,
});

export const sealShow = command({
  words: (it) => it.description('Names the key and its files.'),
  examples: ['stickwright seal show'],
  run: async () => {
    const { keyFiles, noDeskKey, readDeskKey } = await import('../../io/files/desk-key.ts');
    const files = keyFiles(process.env);
    const key = readDeskKey(files);
    if (key !== undefined) return { verdict: 'ready' as const, ...(await nameOf(key.publicKey)), ...files };
    throw noDeskKey(files.privatePath);
  },
  text: async (key) => facts(key),
});

interface KeyFacts {
  readonly name: string;
  readonly publicPath: string;
  readonly privatePath: string;
}

async function nameOf(publicKey: string): Promise<Pick<KeyFacts, 'name'>> {
  const { keyName } = await import('../../core/manifest/build-manifest.ts');
  const { nodeDigesting } = await import('../../io/digest/node-digest.ts');
  return { name: keyName(nodeDigesting.sha256(publicKey)) };
}

const facts = ({ name, publicPath, privatePath }: KeyFacts): string =>
  `Key        ${name}\nPublic     ${publicPath}\nPrivate    ${privatePath}\n`;
