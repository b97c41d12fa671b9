import { input } from '@inquirer/prompts';
import { type FleetExamples, proposeFamily } from '../../core/label/propose-family.ts';
import type { NamedParts } from '../../core/label/propose-pattern.ts';
import { tame } from '../../render/text/page.ts';
import { ask } from '../frame/interruption.ts';
import { aside } from '../frame/screen.ts';

const line = (question: Parameters<typeof input>[0]): Promise<string> => ask((asking) => input(question, asking));

/** Asks for a fleet's labels and package names and what each part means; the first example names the parts. */
export async function askFleetExamples(): Promise<FleetExamples> {
  const family = await line({
    message: 'Short name of the family (small letters, digits, dashes):',
    validate: (text) => /^[a-z0-9][a-z0-9-]*$/.test(text) || 'Small letters, digits and dashes, such as sedge.',
  });
  const title = await line({ message: 'In words:', default: `${family} panels` });
  aside('\nTwo or three labels, as they are printed; as different as you have them.\n');
  const labels = await askExamples('Label', [], 2);
  aside('\nOne to three package names, as the maker names the downloads.\n');
  const partsSoFar = [...new Set(labels.flatMap(({ parts }) => Object.keys(parts)))];
  const packages = await askExamples('Package name', [...partsSoFar, 'build'], 1);
  const examples = { family, title, labels, packages, absent: {} };
  return { ...examples, absent: await askAbsent(examples) };
}

async function askExamples(what: string, known: readonly string[], fewest: number): Promise<readonly NamedParts[]> {
  const found: NamedParts[] = [];
  let names = known;
  for (;;) {
    const enough = found.length >= fewest;
    const message = `${what} ${found.length + 1}${enough ? ' (empty: no more)' : ''}:`;
    const text = (await line({ message, validate: (one) => enough || one.trim() !== '' || 'One is needed.' })).trim();
    if (text === '') return found;
    if (names.length === 0) names = await askNames(text);
    found.push({ text, parts: await askParts(text, names) });
  }
}

async function askNames(text: string): Promise<readonly string[]> {
  const split = (text: string): readonly string[] => text.split(/[\s,]+/).filter((name) => name !== '');
  const typed = await line({
    message: `Which parts can such a label have, also those that "${tame(text)}" lacks? (size, series, generation, …)`,
    validate: (one) =>
      (split(one).length > 0 && split(one).every((name) => /^[A-Za-z]\w*$/.test(name))) ||
      'Names of letters, digits and underscores, with commas between.',
  });
  return split(typed);
}

async function askParts(text: string, names: readonly string[]): Promise<Readonly<Record<string, string>>> {
  const parts: Record<string, string> = {};
  for (const name of names) {
    const value = await line({
      message: `  ${tame(name)} in "${tame(text)}" (empty: it is not there):`,
      validate: (one) =>
        text.toUpperCase().includes(one.trim().toUpperCase()) || `"${tame(one)}" does not stand in "${tame(text)}".`,
    });
    if (value.trim() !== '') parts[name] = value.trim();
  }
  return parts;
}

/** Absence is information: a first generation often carries no mark, a standard unit no factory code. */
async function askAbsent(examples: FleetExamples): Promise<Readonly<Record<string, string>>> {
  const absent: Record<string, string> = {};
  for (const part of proposeFamily(examples).proposal?.unexplained ?? []) {
    const message = `What does it mean where ${tame(part)} is not there? (such as "standard" or "1")`;
    absent[part] = await line({ message, default: 'none' });
  }
  return absent;
}
