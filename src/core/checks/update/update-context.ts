import type { Family } from '../../model/family.ts';
import type { LabelReading, PackageReading } from '../../model/panel-identity.ts';
import type { MetadataReading } from '../../update-package/metadata.ts';
import type { UpdatePackageFacts } from '../../update-package/update-package-facts.ts';

/** What is known around a package; undefined where it was not given. */
export interface UpdateContext {
  /** Whether the mode promises to keep the panel's data. */
  readonly keepsData: boolean | undefined;
  readonly packageReading: PackageReading;
  readonly labelReading: LabelReading | undefined;
}

/**
 * The families that the package may be for: those that read its name, narrowed to those that read the label too.
 * Without a name that a family reads it is the label's families.
 */
export function candidateFamilies(context: UpdateContext): readonly Family[] {
  const byName = context.packageReading.readings.map((one) => one.family);
  const byLabel = context.labelReading?.readings.map((one) => one.family) ?? [];
  const both = byName.filter((family) => byLabel.some((other) => other.family === family.family));
  if (both.length > 0) return both;
  return byName.length > 0 ? byName : byLabel;
}

/** The forms of the metadata that were read; the text first, because AOSP's recovery reads that one. */
export function readForms(facts: UpdatePackageFacts): readonly MetadataReading[] {
  return [facts.text, facts.protobuf].flatMap((form) => (form.state === 'read' ? [form.metadata] : []));
}
