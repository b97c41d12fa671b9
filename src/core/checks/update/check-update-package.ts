import type { Finding } from '../../findings/finding.ts';
import type { UpdatePackageFacts } from '../../update-package/update-package-facts.ts';
import { checkBase, checkClaims, checkWipe } from './check-claims.ts';
import { checkMetadata } from './check-metadata.ts';
import { checkPayload, checkPropertyFiles } from './check-payload.ts';
import { checkSignature } from './check-signature.ts';
import { candidateFamilies, type UpdateContext } from './update-context.ts';

/**
 * Judges what one pass showed of an archive as an Android update package, against the mode, the file's name and the
 * label. Of an archive that is no update package nothing is said, except that a signature is missing which was
 * demanded.
 */
export function checkUpdatePackage(facts: UpdatePackageFacts, context: UpdateContext): readonly Finding[] {
  const signature = checkSignature(facts, candidateFamilies(context));
  if (!facts.recognised) return signature;
  return [
    ...signature,
    ...checkWipe(facts, context.keepsData),
    ...checkClaims(facts, context),
    ...checkMetadata(facts),
    ...checkBase(facts),
    ...checkPayload(facts),
    ...checkPropertyFiles(facts.propertyFiles),
  ];
}
