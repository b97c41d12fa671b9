import { type Finding, finding } from '../../findings/finding.ts';
import type { ModeRules } from '../../model/family.ts';
import type { Mode } from '../../model/mode.ts';
import type { StickFacts } from '../../model/stick-facts.ts';
import { readByteSize } from '../../plan/read-byte-size.ts';

/** Where boot loaders that keep FAT offsets in 16 bits end (common practice, no source). */
const largeForBootLoaders = 32e9;

/** A stick "of 32 GB" may hold a little more than its name: 5 % are let through. */
const nameTolerance = 1.05;

export function checkSize(stick: StickFacts, mode: Mode, rules: ModeRules): readonly Finding[] {
  const bytes = stick.mediumBytes ?? stick.drive?.bytes ?? stick.volumeBytes;
  const limit = rules['largest-stick'];
  if (limit !== undefined) {
    const largest = readByteSize(limit);
    return bytes > largest * nameTolerance
      ? [finding('stick/larger-than-the-panel-takes', stick.target, { bytes, largest })]
      : [];
  }
  const isLarge = mode === 'recovery' && bytes > largeForBootLoaders * nameTolerance;
  return isLarge ? [finding('stick/large-for-a-boot-loader', stick.target, { bytes })] : [];
}
