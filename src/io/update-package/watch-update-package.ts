import type { ArchiveEntry, ArchiveFacts } from '../../core/model/archive-facts.ts';
import {
  type MetadataReading,
  metadataPath,
  metadataProtobufPath,
  parseMetadataText,
} from '../../core/update-package/metadata.ts';
import { parsePayloadProperties, payloadPath, payloadPropertiesPath } from '../../core/update-package/parse-payload.ts';
import { placePropertyFiles } from '../../core/update-package/property-files.ts';
import type { PayloadFacts, UpdatePackageFacts } from '../../core/update-package/update-package-facts.ts';
import type { PassListener } from '../archive/archive.ts';
import type { watchPayload } from './watch-payload.ts';
import { watchSignature } from './watch-signature.ts';
import { metadataForm, type SmallEntry, watchDataOffsets, watchSmallEntry } from './watch-small-entry.ts';

/** The program inside packages of panels without A/B (AOSP bootable/recovery install/install.cpp). */
const updateBinaryPath = 'META-INF/com/google/android/update-binary';

export interface UpdatePackageOptions {
  /** Certificates in DER that the person trusts, as `readSigners` gives them. */
  readonly trusted: readonly Uint8Array[];
}

export interface UpdatePackageWatch {
  /** For one pass over the archive. */
  readonly listener: PassListener;
  /** What the pass showed; call it once the pass is over. */
  result(): Promise<UpdatePackageFacts>;
}

/**
 * Watches one pass over an archive and gathers what it shows of the archive as an Android update package. Memory does
 * not grow with the archive, and nothing is hashed that nobody asks for: the signed range only where there is
 * a signature, and the payload not at all, because the archive's reading has its hash. Apart from the pass, only the
 * file's last 64 KiB are read. Throws ToolError `file/unreadable` and `file/changed-while-read` from the listener.
 */
export function watchUpdatePackage(archive: ArchiveFacts, options: UpdatePackageOptions): UpdatePackageWatch {
  const paths = new Set(archive.entries.map((entry) => entry.name));
  const hasMetadata = paths.has(metadataPath) || paths.has(metadataProtobufPath);
  const text = watchSmallEntry(metadataPath, 1 << 20);
  const protobuf = watchSmallEntry(metadataProtobufPath, 1 << 20);
  const properties = watchSmallEntry(payloadPropertiesPath, 1 << 16);
  const offsets = watchDataOffsets(hasMetadata ? archive.entries : []);
  const signature = watchSignature(archive, options.trusted);
  const payload = watchFirstPayload();
  const small = [text, protobuf, properties];
  return {
    listener: {
      raw(chunk) {
        offsets.raw(chunk);
        return signature.raw(chunk);
      },
      entryStart(entry) {
        for (const one of small) one.start(entry);
        return payload.start(entry);
      },
      entryData(_entry, chunk) {
        for (const one of small) one.data(chunk);
        payload.data(chunk);
      },
      entryEnd(_entry, reading) {
        for (const one of small) one.end();
        payload.end(reading);
      },
    },
    async result() {
      const textForm = metadataForm(text.found(), (bytes) => parseMetadataText(decode(bytes)));
      const protobufForm = metadataForm(protobuf.found(), await protobufParser(protobuf.found()));
      const readProperties = properties.found();
      const payloadFacts = payload.found();
      const facts = {
        text: textForm,
        protobuf: protobufForm,
        payload: payloadFacts,
        payloadProperties: readProperties?.bytes && parsePayloadProperties(decode(readProperties.bytes)),
        propertyFiles: placePropertyFiles([textForm, protobufForm], offsets.found(), payloadFacts),
        signature: await signature.answer(),
        trustedGiven: options.trusted.length > 0,
      };
      return { recognised: paths.has(updateBinaryPath) || isUpdatePackage(facts), ...facts };
    },
  };
}

/** The protobuf reader is loaded only for packages that have such an entry: it costs start-up time. */
async function protobufParser(
  entry: SmallEntry | undefined,
): Promise<(bytes: Uint8Array) => MetadataReading | undefined> {
  if (entry === undefined) return () => undefined;
  return (await import('../../core/update-package/parse-metadata-protobuf.ts')).parseMetadataProtobuf;
}

const decode = (bytes: Uint8Array): string => new TextDecoder().decode(bytes);

function isUpdatePackage(facts: Omit<UpdatePackageFacts, 'recognised'>): boolean {
  const marked = facts.payload !== undefined && facts.payload.header.state !== 'not-a-payload';
  const hasMetadata = facts.text.state !== 'absent' || facts.protobuf.state !== 'absent';
  return marked || hasMetadata || facts.payloadProperties !== undefined || facts.signature.state !== 'none';
}

/** Hears the first `payload.bin` at the root; a second one is the archive's fault and said there. */
function watchFirstPayload() {
  let open: ReturnType<typeof watchPayload> | undefined;
  let facts: PayloadFacts | undefined;
  return {
    start(entry: ArchiveEntry): void | Promise<void> {
      open = undefined;
      if (entry.name !== payloadPath || facts !== undefined) return;
      return import('./watch-payload.ts').then((module) => {
        open = module.watchPayload(entry.method, entry.bytes);
      });
    },
    data(chunk: Uint8Array): void {
      open?.data(chunk);
    },
    end(reading: Parameters<ReturnType<typeof watchPayload>['end']>[0]): void {
      facts = open?.end(reading) ?? facts;
      open = undefined;
    },
    found: (): PayloadFacts | undefined => facts,
  };
}
