import { updateClaimFindings } from './update-claims.ts';
import { updateMetadataFindings } from './update-metadata.ts';
import { updatePayloadFindings } from './update-payload.ts';
import { updateSignatureFindings } from './update-signature.ts';

/** Findings of the area `update/`. */
export const updateFindings = {
  ...updateMetadataFindings,
  ...updatePayloadFindings,
  ...updateSignatureFindings,
  ...updateClaimFindings,
};
