import { define, type NoFacts } from '../define.ts';

/** Findings of the area `verify/` about the record itself: how old it is, whether it was edited, who sealed it, what it repeats. */
export const verifyRecordFindings = {
  'verify/older-manifest': define<{ schema: string; version: string }>({
    severity: 'unproven',
    title: 'Prepared by an earlier version, whose record proves less',
    seen: ({ schema, version }) =>
      `Version ${version} wrote the manifest, in the form ${schema}. It does not say whether the package was ever compared with what its maker published, nor what note must lie beside it.`,
    why: 'The firmware is checked all the same, but a doubt from the day of its preparation may be missing in it.',
    todo: 'Prepare it again with the same command: firmware that is right stays, only the record is written anew, and the code on the tag stays.',
    source: 'README, "The manifest"',
  }),
  'verify/record-changed': define<{ got: 'missing' | 'size' | 'content' }>({
    severity: 'stop',
    title: 'The record beside the manifest was changed',
    seen: ({ got }, subject) =>
      got === 'missing'
        ? `${subject} is not on the stick any more.`
        : `${subject} ${got === 'size' ? 'has another length than' : 'says something else than'} what was written there.`,
    why: 'Other machines check the stick by that list, and whoever finds it goes by that note. Somebody had this stick in hand and edited it.',
    todo: 'Do not walk with it. Ask who had it, then prepare it again with the same command: firmware that is right stays, the record is written anew.',
    source: 'RFC 8493 section 3: validity; README, "What lies on a stick"',
  }),
  'verify/sealed': define<{ name: string }>({
    severity: 'note',
    title: 'Sealed by the desk that you trust',
    seen: ({ name }) => `The manifest is signed with key ${name}.`,
    why: 'Nobody without that key can have changed what the stick should hold.',
    todo: 'Nothing.',
    source: 'RFC 8032 (Ed25519)',
  }),
  'verify/seal-not-asked': define<{ sealedBy: string | undefined }>({
    severity: 'note',
    title: 'Anyone could have written this manifest',
    seen: ({ sealedBy }) =>
      sealedBy === undefined
        ? 'Anyone could have written this manifest: it carries no seal.'
        : `Anyone could have written this manifest: its seal, of key ${sealedBy}, was not compared with a key that you trust.`,
    why: 'Content and manifest agree, but a stick that was left alone can be given new ones that agree too.',
    todo: ({ sealedBy }) =>
      sealedBy === undefined
        ? 'Where that matters, make a key at the desk (stickwright seal new) and prepare the stick again.'
        : "Where that matters, verify with the desk's public key: --seal-from FILE",
    source: 'common practice, no source',
  }),
  'verify/seal-missing': define<{ wanted: string }>({
    severity: 'stop',
    title: 'No seal on this stick',
    seen: ({ wanted }) => `Asked for is key ${wanted}; the manifest is not sealed at all.`,
    why: 'Anybody can have prepared this stick, or changed it and its manifest together.',
    todo: 'Do not walk with it. Find out where it was prepared, and prepare it at the desk.',
    source: 'RFC 8032 (Ed25519)',
  }),
  'verify/sealed-by-another': define<{ wanted: string; got: string }>({
    severity: 'stop',
    title: 'Sealed by another desk',
    seen: ({ wanted, got }) => `Asked for is key ${wanted}; the seal is of key ${got}.`,
    why: 'The stick was prepared elsewhere, or changed and sealed anew by somebody else.',
    todo: 'Do not walk with it. Find out where it was prepared, and prepare it at the desk.',
    source: 'RFC 8032 (Ed25519)',
  }),
  'verify/seal-removed': define<{ name: string }>({
    severity: 'stop',
    title: 'The seal is gone',
    seen: ({ name }) => `The manifest says that key ${name} sealed it; no seal lies beside it.`,
    why: 'Somebody had this stick in hand. Without its seal nobody can tell whether more was changed.',
    todo: 'Do not walk with it. Ask who had the stick, and prepare it again.',
    source: 'RFC 8032 (Ed25519)',
  }),
  'verify/seal-broken': define<NoFacts>({
    severity: 'stop',
    title: 'The seal does not belong to this manifest',
    seen: () =>
      'The seal beside it is not the one that this manifest was given: of another key, or over something else.',
    why: 'The manifest or its seal was changed after the desk sealed it.',
    todo: 'Do not walk with it. Ask who had the stick, and prepare it again.',
    source: 'RFC 8032 (Ed25519)',
  }),
  'verify/override': define<{ code: string; because: string }>({
    severity: 'caution',
    title: 'A person overrode a stop when this was prepared',
    seen: ({ code, because }, subject) => `${code} (${subject}), because: ${because}`,
    why: 'What was found then is still true.',
    todo: 'Make sure that the person at the panel knows.',
    source: 'README, "Overrides"',
  }),
  'verify/was-unproven': define<{ code: string }>({
    severity: 'unproven',
    title: 'Something could not be checked when this was prepared',
    seen: ({ code }, subject) => `${code}${subject === '' ? '' : ` (${subject})`}.`,
    why: 'It is still not known, and nothing on the stick can settle it.',
    todo: ({ code }) =>
      `stickwright explain ${code} says what would settle it. Do that at the desk and prepare the stick again with the same command: firmware that is right stays.`,
    source: 'README, "Verdicts"',
  }),
};
