import { type Finding, finding } from '../../findings/finding.ts';
import { metadataPath, metadataProtobufPath } from '../../update-package/metadata.ts';
import { payloadPropertiesPath } from '../../update-package/parse-payload-properties.ts';
import type { MetadataForm, UpdatePackageFacts } from '../../update-package/update-package-facts.ts';
import { readForms } from './update-context.ts';

/**
 * Flags that erase: against the promise where the mode keeps data, loudly where it does not or where none was chosen.
 * A package that is made to disable devices stops in every mode, because nobody updates a panel with one.
 */
export function checkWipe(facts: UpdatePackageFacts, keepsData: boolean | undefined): readonly Finding[] {
  const brick = readForms(facts).some((form) => form.type === 'BRICK');
  const flags = [
    ...(wipes(facts.text) ? [`ota-wipe=yes in ${metadataPath}`] : []),
    ...(wipes(facts.protobuf) ? [`wipe in ${metadataProtobufPath}`] : []),
    ...(facts.payloadProperties?.powerwash === true ? [`POWERWASH=1 in ${payloadPropertiesPath}`] : []),
  ];
  const code = keepsData === true ? 'update/wipe-breaks-promise' : 'update/wipes-data';
  return [
    ...(brick ? [finding('update/brick', metadataPath)] : []),
    ...(flags.length > 0 ? [finding(code, metadataPath, { flags })] : []),
  ];
}

const wipes = (form: MetadataForm): boolean => form.state === 'read' && form.metadata.wipe;
