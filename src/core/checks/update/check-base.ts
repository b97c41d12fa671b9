import { type Finding, finding } from '../../findings/finding.ts';
import { metadataPath } from '../../update-package/metadata.ts';
import { payloadPath } from '../../update-package/parse-payload-header.ts';
import { plainList, plainText } from '../../update-package/plain-text.ts';
import type { UpdatePackageFacts } from '../../update-package/update-package-facts.ts';
import { readForms } from './update-context.ts';

/** What the panel must be and run already, and whether the package leads back. */
export function checkBase(facts: UpdatePackageFacts): readonly Finding[] {
  const forms = readForms(facts);
  const downgrade = forms.some((form) => form.downgrade);
  const needs = forms.find((form) => form.preBuilds.length > 0 || form.preBuildIncremental !== undefined);
  const minorVersion = payloadMinorVersion(facts);
  const found: Finding[] = [];
  if (needs !== undefined) {
    const incremental = needs.preBuildIncremental && plainText(needs.preBuildIncremental);
    found.push(finding('update/incremental', metadataPath, { builds: plainList(needs.preBuilds), incremental }));
  } else if (minorVersion !== 0) {
    found.push(finding('update/incremental-base-unknown', payloadPath, { minorVersion }));
  }
  const serialNumbers = forms.flatMap((form) => form.serialNumbers);
  if (serialNumbers.length > 0) {
    found.push(finding('update/only-serial-numbers', metadataPath, { serialNumbers: plainList(serialNumbers) }));
  }
  if (downgrade) found.push(finding('update/downgrade', metadataPath));
  return found;
}

/** 0 is a full payload; so is what cannot be read, which is a finding of its own. */
function payloadMinorVersion({ payload }: UpdatePackageFacts): number {
  if (payload?.header.state !== 'read' || payload.header.manifest.state !== 'read') return 0;
  return payload.header.manifest.minorVersion;
}
