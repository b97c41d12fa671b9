import type { FooterProblem } from '../../update-package/parse-footer.ts';
import { define, type NoFacts } from '../define.ts';

const verifier = 'AOSP bootable/recovery install/verifier.cpp, verify_file';
const again = 'Download the package again from the maker. If it stays the same, do not use it, and ask the maker.';

const problems: Readonly<Record<FooterProblem, string>> = {
  marker: 'the mark FF FF of the footer is missing, although a signature is there',
  'end-record': 'the end record of the zip is not where the footer says',
  'start-outside': 'the footer places the signature outside the comment',
  'start-in-footer': 'the footer leaves no room for a signature',
  'second-end-record': 'behind the end record there is the mark of another one',
};

interface Signer {
  /** SHA-256 of the certificate. */
  readonly fingerprint: string;
  /** What the certificate calls itself. */
  readonly subject: string;
}

const asSigned = ({ fingerprint, subject }: Signer): string => `"${subject}", certificate SHA-256 ${fingerprint}`;

/** Findings about the whole-file signature. */
export const updateSignatureFindings = {
  'update/not-signed': define<NoFacts>({
    severity: 'caution',
    title: 'Not signed',
    seen: () => 'The package has no whole-file signature.',
    why: 'Panels that follow AOSP refuse it in recovery. Often it means that somebody zipped the package again.',
    todo: 'Compare its hash with the one that the maker publishes, or download it again.',
    source: verifier,
  }),
  'update/signature-missing': define<NoFacts>({
    severity: 'stop',
    title: 'Not signed, though it should be',
    seen: () => 'A signer is known for this package, but the file has no whole-file signature.',
    why: 'It is not the file that the signer made: zipped again, cut off, or replaced.',
    todo: again,
    source: verifier,
  }),
  'update/signature-footer-broken': define<{ problem: FooterProblem }>({
    severity: 'stop',
    title: 'Signature is damaged',
    seen: ({ problem }) => `The end of the file should lead to its signature, but ${problems[problem]}.`,
    why: 'The panel would refuse it ("signature verification failed"), often after minutes of silence.',
    todo: again,
    source: verifier,
  }),
  'update/signature-unreadable': define<{ problem: string }>({
    severity: 'stop',
    title: 'Signature is damaged',
    seen: ({ problem }) => `There is a signature at the end of the file, but ${problem}.`,
    why: 'The panel would refuse it ("signature verification failed"), often after minutes of silence.',
    todo: again,
    source: 'RFC 5652 section 5',
  }),
  'update/signature-unsupported': define<{ what: string }>({
    severity: 'unproven',
    title: 'Signature of another kind',
    seen: ({ what }) => `The package is signed by a method that is not checked here (${what}).`,
    why: 'Whether the file is as it was signed could not be checked. AOSP only takes RSA and ECDSA with SHA-1 or SHA-256.',
    todo: 'Compare its hash with the one that the maker publishes.',
    source: verifier,
  }),
  'update/signature-broken': define<{ subject: string }>({
    severity: 'stop',
    title: 'CHANGED AFTER IT WAS SIGNED',
    seen: ({ subject }) => `The file is not as it was when "${subject}" signed it: the signature does not verify.`,
    why: 'The file was damaged or changed on its way. The panel would refuse it.',
    todo: again,
    source: verifier,
  }),
  'update/signature-certificate-damaged': define<NoFacts>({
    severity: 'stop',
    title: "Signer's certificate is damaged",
    seen: () => "The signer's certificate inside the signature is not as it was made.",
    why: 'The file was damaged or changed on its way; who signed it can no longer be said.',
    todo: again,
    source: 'RFC 5652 section 5.1, RFC 5280 section 4.1.1.3',
  }),
  'update/signature-without-certificate': define<NoFacts>({
    severity: 'unproven',
    title: 'Signed, but nobody says by whom',
    seen: () => 'The signature holds no certificate, and none was given to check it by.',
    why: 'Whether the file is as it was signed could not be checked.',
    todo: "Give the maker's certificate with --signer, or compare the file's hash with the one that the maker publishes.",
    source: 'RFC 5652 section 5.1',
  }),
  'update/signer-known': define<Signer>({
    severity: 'note',
    title: 'Signed by a signer you know',
    seen: (signer) => `Intact, and signed by a certificate that you trust: ${asSigned(signer)}.`,
    why: 'The file is as the owner of that certificate made it. Whether the panel trusts the same one only the panel knows.',
    todo: 'Nothing.',
    source: verifier,
  }),
  'update/signer-unknown': define<Signer>({
    severity: 'note',
    title: 'Intact, signer not known to you',
    seen: (signer) => `Intact as signed by ${asSigned(signer)}. This signer is not known to you.`,
    why: 'Anybody can sign with a certificate of their own: this shows that nothing changed since, not who made it. The panel decides by the certificates it holds.',
    todo: "Compare the fingerprint with one that the maker gives, and put it into the family file (signers), or give the maker's certificate with --signer.",
    source: verifier,
  }),
  'update/signer-differs': define<{
    readonly signer: Signer | undefined;
    /** Fingerprints of the certificates that were expected. */
    readonly expected: readonly string[];
    readonly onlyHashDiffers: boolean;
  }>({
    severity: 'stop',
    title: 'NOT SIGNED AS BY THE SIGNER YOU TRUST',
    seen: ({ signer, expected, onlyHashDiffers }) =>
      `Signed by ${signer === undefined ? 'an unnamed signer' : asSigned(signer)}; expected was ${
        expected.join(' or ') || 'a certificate that cannot sign packages'
      }.${onlyHashDiffers ? ' Both hold the same key, but the package was hashed in another way than that certificate asks for.' : ''}`,
    why: 'It is not made by the signer that you trust, or not in the way that a panel with that certificate takes.',
    todo: again,
    source: `${verifier}: the hash is the one of the trusted certificate`,
  }),
  'update/signature-weak': define<NoFacts>({
    severity: 'caution',
    title: 'Signed with a weak hash',
    seen: () => 'The signature uses SHA-1.',
    why: 'SHA-1 is broken: with effort, another file can be made that has the same signature. Older panels know nothing better.',
    todo: "Rely on the maker's published SHA-256 as well, or ask for a newer package.",
    source: 'NIST SP 800-131A Rev. 2: SHA-1 no longer allowed for new signatures (from memory)',
  }),
  'update/signature-form': define<{ reasons: readonly string[] }>({
    severity: 'caution',
    title: "Signed in a way that AOSP's recovery refuses",
    seen: ({ reasons }) => `The signature is sound, but ${reasons.join(', and ')}.`,
    why: "A panel whose recovery follows AOSP's refuses it, although nothing is wrong with the file.",
    todo: 'Make sure by the release notes that this package may be used in this way. If in doubt, ask the maker.',
    source: verifier,
  }),
};
