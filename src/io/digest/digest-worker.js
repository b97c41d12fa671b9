// The other thread of digest-thread.ts.
import { parentPort } from 'node:worker_threads';
import { carryOut, stop } from './digest-places.js';

parentPort?.on('message', (message) => {
  if ('stop' in message) stop(message.stop);
  else carryOut(message, (said) => parentPort?.postMessage(said));
});
