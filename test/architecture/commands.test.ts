import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, normalize } from 'node:path';
import { Command } from '@commander-js/extra-typings';
import { describe, expect, it } from 'vitest';
import { commands } from '../../src/cli/commands.ts';
import { type AnyCommand, addWords } from '../../src/cli/frame/command.ts';

const files = readdirSync('src/cli', { recursive: true, encoding: 'utf8' })
  .map((name) => `src/cli/${name.replaceAll('\\', '/')}`)
  .filter((name) => name.endsWith('.ts'));
const isFrame = (path: string): boolean => path.startsWith('src/cli/frame/') || path === 'src/cli/main.ts';
const sourceOf = (path: string): string => readFileSync(path, 'utf8');

/** What a command would do itself only to go around the frame. */
const framesAlone: Readonly<Record<string, RegExp>> = {
  'ends the process, or says with what it ends': /process\.(exit|exitCode|abort|kill|reallyExit)\b/,
  'writes where the answer goes, or beside it': /process\.(stdout|stderr)\b|\bconsole\./,
  'hears signals': /process\.(on|once|off|addListener)\(|watchInterruption/,
  'draws progress': /startProgress/,
  'makes the document itself': /\bserialise\(|JSON\.stringify\(/,
  'runs what commander read': /\.action\(|\.parse(Async)?\(\[|runCommand/,
  'says what went wrong itself': /reportFailure|showBug|renderFailure/,
};

/**
 * The files that a file needs before it can run: what is only imported as a type, or when it is needed, is none of
 * them.
 */
function neededBy(path: string): readonly string[] {
  const imports = sourceOf(path).matchAll(
    /^(?:import|export) (?!type )([^;]*?)from '(\.[^']+)';|^import '(\.[^']+)';/gm,
  );
  return [...imports].flatMap(([, names = '', from, bare]) => {
    const inner = names
      .replace(/[{}\n]/g, ' ')
      .split(',')
      .map((name) => name.trim())
      .filter((name) => name !== '');
    const isTypes = inner.length > 0 && inner.every((name) => name.startsWith('type '));
    return isTypes ? [] : [normalize(join(dirname(path), from ?? bare ?? '')).replaceAll('\\', '/')];
  });
}

function allNeededBy(path: string, seen = new Set<string>()): ReadonlySet<string> {
  for (const next of neededBy(path)) {
    if (seen.has(next)) continue;
    seen.add(next);
    allNeededBy(next, seen);
  }
  return seen;
}

const listed = commands.filter((entry): entry is readonly [string, string, () => Promise<AnyCommand>] => {
  return typeof entry[2] === 'function';
});

describe('every command', () => {
  it('is in the one list, once', async () => {
    const names = commands.map(([name]) => name);
    expect(names).toEqual([...new Set(names)]);
    expect(listed.length).toBeGreaterThan(25);
    const loaded = await Promise.all(listed.map(([, , load]) => load()));
    expect(new Set(loaded).size).toBe(listed.length);
    const made = files.flatMap((path) => sourceOf(path).match(/= command\(\{/g) ?? []);
    expect(made).toHaveLength(listed.length);
    for (const [name] of listed) {
      const group = name.split(' ').slice(0, -1).join(' ');
      if (group !== '') expect(names.indexOf(group), name).toBeLessThan(names.indexOf(name));
    }
  });

  it('goes through the frame: nothing else ends the process, writes, hears signals or draws', () => {
    expect(files.filter(isFrame).length).toBeGreaterThan(5);
    const found = files
      .filter((path) => !isFrame(path))
      .flatMap((path) =>
        Object.entries(framesAlone).flatMap(([what, pattern]) =>
          pattern.test(sourceOf(path)) ? [`${path}: ${what} (${pattern.exec(sourceOf(path))?.[0]})`] : [],
        ),
      );
    expect(found).toEqual([]);
    // Each of them is there to be found: a pattern that fits nothing any more would hold nothing.
    const frame = files.filter(isFrame).map(sourceOf).join('\n');
    for (const [what, pattern] of Object.entries(framesAlone)) expect(frame, what).toMatch(pattern);
  });

  it('has words for people, and a document exactly where it takes --json', async () => {
    for (const [name, summary, load] of listed) {
      const command = await load();
      expect(summary, name).not.toBe('');
      expect(command.examples.length, name).toBeGreaterThan(0);
      for (const line of command.examples) expect(line).toMatch(new RegExp(`^stickwright ${name}( |$)`));
      const it = new Command(name) as unknown as Command;
      addWords(it, command, async () => {});
      expect(it.description(), name).not.toBe('');
      expect(
        it.options.some(({ long }) => long === '--json'),
        name,
      ).toBe(command.json !== undefined);
    }
  });

  it('says its help without its code: nothing of io, workflows and render is loaded for it', () => {
    const ofCommands = [...sourceOf('src/cli/commands.ts').matchAll(/import\('\.\/([^']+)'\)/g)].map(
      ([, path = '']) => `src/cli/${path}`,
    );
    expect(new Set(ofCommands).size).toBeGreaterThan(15);
    const starts = ['src/cli/main.ts', ...ofCommands];
    const heavy = starts.flatMap((path) =>
      [...allNeededBy(path)]
        .filter((needed) => !/^src\/(cli|core\/(model|text))\//.test(needed))
        .map((needed) => `${path} → ${needed}`),
    );
    expect(heavy).toEqual([]);
    // A library that is not commander waits as well.
    const light = new Set(starts.flatMap((path) => [path, ...allNeededBy(path)]));
    const libraries = [...light].flatMap((path) =>
      [...sourceOf(path).matchAll(/^import (?!type )[^;]*? from '([^.'][^']*)';/gm)].map(([, name = '']) => name),
    );
    const others = libraries.filter((name) => !name.startsWith('node:') && name !== '@commander-js/extra-typings');
    expect(others).toEqual([]);
  });
});
