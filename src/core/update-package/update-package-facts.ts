import type { ArchiveFacts, Digests } from '../model/archive-facts.ts';
import type { PackageReading } from '../model/panel-identity.ts';
import type { MetadataReading, PropertyFile } from './metadata.ts';
import type { FooterProblem } from './parse-footer.ts';
import type { ManifestReading, PayloadProperties } from './parse-payload.ts';
/** One of the two forms of the metadata, as it was found. */
export type MetadataForm =
  | { readonly state: 'absent' }
  /** Larger than any metadata is; it was not read. */
  | { readonly state: 'too-large'; readonly bytes: number }
  | { readonly state: 'unreadable' }
  | { readonly state: 'read'; readonly metadata: MetadataReading };

/** Hashes as `payload_properties.txt` writes them: base64 of SHA-256. */
export interface PayloadFacts {
  /** Compression method of the entry (PKWARE APPNOTE 4.4.5). */
  readonly method: number;
  readonly bytes: number;
  readonly fileHash: string;
  readonly header: PayloadHeaderFacts;
}

export type PayloadHeaderFacts =
  | { readonly state: 'not-a-payload'; readonly firstBytes: string }
  | { readonly state: 'other-version'; readonly version: string }
  /** The payload ends before the parts that its header announces. */
  | { readonly state: 'cut-off'; readonly announcedBytes: string }
  | {
      readonly state: 'read';
      readonly manifestBytes: number;
      readonly signatureBytes: number;
      /** Header and manifest, without the metadata signature. */
      readonly metadataBytes: number;
      readonly metadataHash: string;
      readonly manifest: ManifestReading | { readonly state: 'too-large' };
    };

/** A place that the metadata names, and where its entry's data really is; undefined where there is no such entry. */
export interface PropertyFilePlace {
  readonly list: string;
  readonly stated: PropertyFile;
  readonly actual: { readonly offset: number; readonly bytes: number; readonly stored: boolean } | undefined;
}

export interface PropertyFilesFacts {
  readonly places: readonly PropertyFilePlace[];
  /** Lists that are not `name:offset:size` throughout. */
  readonly unreadable: readonly string[];
}

export type SignatureHash = 'sha1' | 'sha256' | 'sha384' | 'sha512';

export type SignerKey =
  | { readonly kind: 'rsa'; readonly bits: number; readonly exponent: string }
  | { readonly kind: 'ec'; readonly curve: string };

export interface SignerCertificate {
  /** SHA-256 over the certificate's DER, lower hex. */
  readonly sha256: string;
  /** The subject's parts as the certificate states them, in one line. */
  readonly subject: string;
  readonly key: SignerKey;
  /** The hash that the certificate's own signature uses; AOSP's verifier hashes the package with that one. */
  readonly hash: SignatureHash | undefined;
}

/** What a trusted certificate says of the signature. */
export interface TrustedAnswer {
  readonly certificate: SignerCertificate;
  /** It holds the key of the certificate inside; with `verifies` false only the hash differs. */
  readonly sameKey: boolean;
  readonly verifies: boolean;
}

export type SignatureFacts =
  | { readonly state: 'none' }
  | { readonly state: 'footer-broken'; readonly problem: FooterProblem }
  /** The footer points at bytes that are not a CMS SignedData with one signer's signature. */
  | { readonly state: 'unreadable'; readonly problem: string }
  | { readonly state: 'unsupported'; readonly what: string }
  | {
      readonly state: 'read';
      readonly hash: SignatureHash;
      /** Signed attributes are there (RFC 5652 5.3); AOSP's verifier knows none. */
      readonly attributes: boolean;
      readonly signedBytes: number;
      /** What the certificate inside says; `without-certificate` where there is none to ask. */
      readonly answer: 'intact' | 'broken' | 'certificate-damaged' | 'without-certificate';
      readonly certificate: SignerCertificate | undefined;
      /** One for each trusted certificate that was given, in that order. */
      readonly trusted: readonly TrustedAnswer[];
    };

/** What one pass over an archive showed of it as an Android update package; nothing here is judged. */
export interface UpdatePackageFacts {
  /** It has at least one part that only an update package has. */
  readonly recognised: boolean;
  readonly text: MetadataForm;
  readonly protobuf: MetadataForm;
  readonly payload: PayloadFacts | undefined;
  readonly payloadProperties: PayloadProperties | undefined;
  readonly propertyFiles: PropertyFilesFacts;
  readonly signature: SignatureFacts;
  /** Trusted certificates were given, whether or not there was a signature to ask them about. */
  readonly trustedGiven: boolean;
}

/** What was learned about an archive. `digests` is undefined where the archive was not read to its end. */
export interface ArchiveAnswer {
  readonly facts: ArchiveFacts;
  readonly package: PackageReading;
  readonly digests: Digests | undefined;
  /** What an Android update package says of itself; undefined where it is none, or was not read. */
  readonly inside: UpdatePackageFacts | undefined;
}
