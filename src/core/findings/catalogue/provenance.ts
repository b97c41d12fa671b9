import { define, type NoFacts } from '../../model/catalogue-entry.ts';

const practice = 'common practice, no source';

interface Signers {
  readonly family: string;
  /** The package beside which it is held: the last one of the family. */
  readonly other: string;
  readonly before: string;
  readonly now: string;
}

const sideBySide = ({ before, now, other }: Signers): string => `\n  ${other}\n    ${before}\n  this one\n    ${now}`;

/** Findings about where a package comes from. */
export const provenanceFindings = {
  'provenance/signer-same': define<{ family: string; fingerprint: string; subject: string; known: boolean }>({
    severity: 'note',
    title: 'signed by the signer of this family',
    seen: ({ family, fingerprint, subject: who, known }, subject) =>
      `${subject} is signed by "${who}", certificate SHA-256 ${fingerprint}, ${known ? `whom the family file of ${family} names` : `as the last package of ${family} was`}.`,
    why: 'It comes from the same hand as before. Whether the panel trusts that signer only the panel knows.',
    todo: 'Nothing.',
    source: practice,
  }),

  'provenance/signer-first': define<{ family: string; fingerprint: string; subject: string }>({
    severity: 'note',
    title: 'the first signed package of this family',
    seen: ({ family, fingerprint, subject: who }, subject) =>
      `${subject} is signed by "${who}", certificate SHA-256 ${fingerprint}. The shelf has no earlier signed package of ${family} to compare with.`,
    why: 'Later packages of the family will be held against this signer.',
    todo: 'Compare the fingerprint with one that the maker gives, and put it into the family file (signers).',
    source: practice,
  }),

  'provenance/signer-changed': define<Signers>({
    severity: 'stop',
    title: 'SIGNED BY SOMEBODY ELSE THAN THE LAST PACKAGE',
    seen: (facts, subject) =>
      `${subject} is not signed by the signer of the last package of ${facts.family}.${sideBySide(facts)}`,
    why: "Makers change their key seldom and announce it. Otherwise the package is not theirs, and a panel that takes it runs a stranger's program.",
    todo: 'Ask the maker by a way that you know already whether the key was changed. If they confirm it, put the new fingerprint beside the old one into the family file (signers), or accept it once: --accept provenance/signer-changed --because and who confirmed it.',
    source: practice,
  }),

  'provenance/signer-listed': define<Signers>({
    severity: 'caution',
    title: 'another signer than last time, whom the family file names',
    seen: (facts, subject) =>
      `${subject} is signed by another certificate than the last package of ${facts.family}; the family file names it.${sideBySide(facts)}`,
    why: 'A panel with an old system may know only the old signer and refuse the package.',
    todo: 'Read the release note for the oldest build that takes the new signer.',
    source: practice,
  }),

  'provenance/signature-gone': define<Signers>({
    severity: 'stop',
    title: 'THE LAST PACKAGE WAS SIGNED, THIS ONE IS NOT',
    seen: (facts, subject) =>
      `${subject} carries no signature that could be verified; the last package of ${facts.family} did.${sideBySide(facts)}`,
    why: 'Somebody zipped it again or replaced it. A panel that looks for a signature refuses it.',
    todo: "Download it again from the maker's page, and do not let the browser unpack it. If the maker says that it is not signed, accept it: --accept provenance/signature-gone --because and their words.",
    source: practice,
  }),

  'provenance/now-signed': define<{ family: string; other: string; fingerprint: string; subject: string }>({
    severity: 'note',
    title: 'signed, unlike the last package',
    seen: ({ family, other, fingerprint, subject: who }, subject) =>
      `${subject} is signed by "${who}", certificate SHA-256 ${fingerprint}; the last package of ${family}, ${other}, was not.`,
    why: 'Later packages of the family will be held against this signer.',
    todo: 'Compare the fingerprint with one that the maker gives, and put it into the family file (signers).',
    source: practice,
  }),

  'provenance/no-address': define<NoFacts>({
    severity: 'caution',
    title: 'where it was downloaded is not said',
    seen: (_facts, subject) => `No address was given for ${subject}.`,
    why: 'When a panel fails, the first question is where the package came from. Makers answer only for their own pages.',
    todo: 'Give the address of the download with --from; it is kept as text and never opened.',
    source: practice,
  }),

  'provenance/other-host': define<{ family: string; host: string; before: string; other: string }>({
    severity: 'caution',
    title: 'from another place than the last package',
    seen: ({ family, host, before, other }, subject) =>
      `${subject} comes from ${host}; the last package of ${family}, ${other}, came from ${before}.`,
    why: "Packages belong from the maker's support page only; copies elsewhere are old, changed or incomplete.",
    todo: "Make sure that the address is the maker's own.",
    source: practice,
  }),

  'provenance/address': define<{ from: string; addedAt: string }>({
    severity: 'note',
    title: 'where it came from',
    seen: ({ from, addedAt }, subject) => `${subject} was downloaded from ${from} and added on ${addedAt}.`,
    why: 'The maker answers only for their own pages.',
    todo: 'Nothing.',
    source: practice,
  }),
};
