import { createServer } from 'node:http';
import { serve } from '@hono/node-server';
import { Hono } from 'hono';
import { answerTo } from './answer-to.ts';
import { Desk } from './desk.ts';
import type { DeskParts } from './desk-parts.ts';
import { Door, onlyOurPage } from './door.ts';
import { streamEvents } from './events.ts';
import { pageFiles } from './page-files.ts';
import { signerRoutes } from './published.ts';
import { ejectRoutes } from './routes/eject.ts';
import { familyRoutes } from './routes/families.ts';
import { prepareRoutes } from './routes/prepare.ts';
import { setUpRoutes } from './routes/set-up.ts';
import { shelfRoutes } from './routes/shelf.ts';
import { slipRoutes } from './routes/slip.ts';
import { stickRoutes } from './routes/sticks.ts';
import { workRoutes } from './routes/work.ts';

export interface ServedDesk {
  /** With a secret that is good once, for a minute. */
  readonly newAddress: () => string;
  readonly port: number;
  /** What is under way now, in words. */
  readonly underWay: () => readonly string[];
  /** Stops all work at a clean place, then the server. What gives no sign is LEFT where it stands, after a while. */
  readonly close: (left: (about: string) => void) => Promise<void>;
}

/** Our own page and its answers, for this computer alone: nobody else can even connect (RFC 5735, 127/8). */
const loopback = '127.0.0.1';

/** A page that has just come has more to do first. */
const warmMs = 500;

/**
 * Serves the desk's page at PORT, 0 for any that is free. Rejects where the port is taken. The work belongs to the
 * server: it goes on when every page is closed, and each page that comes sees where it stands.
 */
export async function serveDesk(parts: DeskParts, { port }: { readonly port: number }): Promise<ServedDesk> {
  const desk = new Desk(parts);
  const door = new Door();
  let served = 0;
  const app = new Hono();
  app.use(onlyOurPage(() => served));
  app.post('/enter', door.enter);
  app.use('/api/*', door.guard);
  app.get('/api/desk', async (context) => {
    // Somebody is here now, and what they begin must not wait for a process to start.
    setTimeout(() => desk.processes.warm(), warmMs).unref();
    return context.json(await desk.seen());
  });
  app.get('/api/events', (context) => streamEvents(context, desk));
  app.route('/api/slip', slipRoutes(desk));
  app.route('/api/work', workRoutes(desk));
  app.route('/api/prepare', prepareRoutes(desk));
  app.route('/api/shelf', shelfRoutes(desk));
  app.route('/api/eject', ejectRoutes(desk));
  app.all('/api/round/*', desk.elsewhere.answer);
  app.route('/paper', desk.paper.routes(door));
  app.route('/api/sticks', stickRoutes(desk));
  app.route('/api/families', familyRoutes(desk));
  app.route('/api/set-up', setUpRoutes(desk));
  app.route('/api/signers', signerRoutes());
  app.get('*', pageFiles());
  app.notFound((context) => context.text('There is nothing of that name here.', 404));
  app.onError(answerTo);
  const { server, at } = await listening(app, port);
  served = at;
  desk.watch();
  return {
    port: at,
    newAddress: () => `http://${loopback}:${at}/#${door.newSecret()}`,
    underWay: () => desk.work.underWay.map((piece) => piece.shown.about),
    close: async (left) => {
      await desk.work.stopAll((piece) => left(piece.shown.about));
      await desk.close();
      server.close();
      server.closeAllConnections();
    },
  };
}

function listening(app: Hono, port: number): Promise<{ server: ReturnType<typeof createServer>; at: number }> {
  return new Promise((resolve, reject) => {
    const server = serve({ fetch: app.fetch, hostname: loopback, port, createServer }, (info) =>
      resolve({ server: server as ReturnType<typeof createServer>, at: info.port }),
    );
    server.on('error', reject);
    // A package of gigabytes on its way to a slow shelf takes longer than Node's five minutes for a request.
    (server as ReturnType<typeof createServer>).requestTimeout = 0;
  });
}
