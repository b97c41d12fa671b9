import type { FamilyFile } from '../core/checks/fit/check-families.ts';
import { type FleetExamples, proposeFamily, writeFamilyYaml } from '../core/label/propose-family.ts';
import type { FamilyNewReport, FamilyReport } from '../core/report/reports.ts';
import { checkNewFamily } from './read-panel-label.ts';

/** A folder in which families of a desk lie. */
export interface FamilyFolder {
  /** How a file of this name and text would be read there. */
  readonly read: (name: string, text: string) => FamilyFile;
  /** Every file that lies there, as far as it can be read. */
  readonly list: () => Promise<readonly FamilyFile[]>;
  /** Writes a new one, never over another; resolves with its path. */
  readonly write: (family: string, text: string) => Promise<string>;
}

/** `because`: no pattern reads the examples. */
type Proposed = FamilyNewReport | { readonly because: string };

/** The proposal, and what the check says of its file: alone, and beside the families that lie where it is to go. */
export async function proposeNewFamily(examples: FleetExamples, folder: FamilyFolder): Promise<Proposed> {
  const { proposal, ...refusal } = proposeFamily(examples);
  if (proposal === undefined) return { because: 'because' in refusal ? refusal.because : '' };
  const text = writeFamilyYaml(proposal);
  const file = folder.read(examples.family, text);
  const { verdict, findings } = checkNewFamily(examples.family, file, await folder.list());
  return { command: 'family new', verdict, findings, proposal, text, path: undefined };
}

/** Writes the family that its examples make; where a finding stops it, it has no path. */
export async function makeFamily(examples: FleetExamples, folder: FamilyFolder): Promise<Proposed> {
  const proposed = await proposeNewFamily(examples, folder);
  if ('because' in proposed || proposed.verdict === 'not-ready') return proposed;
  return { ...proposed, path: await folder.write(examples.family, proposed.text) };
}

/** What is wrong with a colleague's family file, by itself and beside those that are here; and what it is called. */
export async function checkGivenFamily(
  file: FamilyFile,
  fileName: string,
  folder: FamilyFolder,
): Promise<FamilyReport & { readonly name: string }> {
  const families = file.content.state === 'read' ? [file.content.family] : [];
  const name = families[0]?.family ?? fileName;
  const { verdict, findings } = checkNewFamily(name, file, await folder.list());
  return { command: 'family add', verdict, findings, families, name };
}
