import { keyName } from '../../core/manifest/build-manifest.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { nodeDigesting } from '../../io/digest/node-digest.ts';
import { keyFiles, newDeskKey, readDeskKey } from '../../io/files/desk-key.ts';
import { exitCodes } from '../exit-codes.ts';
import { say } from '../screen.ts';

const nameOf = (publicKey: string): string => keyName(nodeDigesting.sha256(publicKey));

export async function runSealNew(): Promise<number> {
  const files = keyFiles(process.env);
  const { publicKey } = newDeskKey(files);
  await say(
    `Made a key for this desk.\n\n${facts(publicKey, files)}\nFrom now on every stick prepared here is sealed with it. Give the public file to whoever\nverifies sticks: stickwright verify /media/stick --seal-from ${files.publicPath}\nKeep the private file to yourself, and a copy of it in a safe place.\n`,
  );
  return exitCodes.ready;
}

export async function runSealShow(): Promise<number> {
  const files = keyFiles(process.env);
  const key = readDeskKey(files);
  if (key === undefined) {
    throw new ToolError('file/not-found', files.privatePath, 'this desk has no key', 'Make one: stickwright seal new');
  }
  await say(facts(key.publicKey, files));
  return exitCodes.ready;
}

const facts = (publicKey: string, { privatePath, publicPath }: ReturnType<typeof keyFiles>): string =>
  `Key        ${nameOf(publicKey)}\nPublic     ${publicPath}\nPrivate    ${privatePath}\n`;
