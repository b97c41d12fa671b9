import { createHash, type Hash } from 'node:crypto';
import type { EntryReading } from '../../core/model/archive-facts.ts';
import {
  type PayloadHeader,
  parsePayloadHeader,
  parsePayloadManifest,
  payloadHeaderBytes,
} from '../../core/update-package/parse-payload.ts';
import type { PayloadFacts, PayloadHeaderFacts } from '../../core/update-package/update-package-facts.ts';

/** Real manifests have some hundred kilobytes, those of large incremental packages a few megabytes. */
const largestManifestBytes = 32 * 1024 * 1024;

/**
 * Hears one `payload.bin`: looks at its header, hashes its metadata and keeps its manifest. The hash of the whole comes
 * from the reading of the archive, which has made it already.
 */
export function watchPayload(method: number, statedBytes: number) {
  const head = new Uint8Array(payloadHeaderBytes);
  let received = 0;
  let header: PayloadHeader | undefined;
  let metadata: MetadataCollector | undefined;
  return {
    data(chunk: Uint8Array): void {
      let rest = chunk;
      if (received < payloadHeaderBytes) {
        const part = chunk.subarray(0, payloadHeaderBytes - received);
        head.set(part, received);
        received += part.length;
        rest = chunk.subarray(part.length);
        if (received < payloadHeaderBytes) return;
        header = parsePayloadHeader(head, statedBytes);
        if (header.state === 'read') metadata = collectMetadata(head, header.manifestBytes);
      }
      received += rest.length;
      metadata?.data(rest);
    },
    end(reading: EntryReading): PayloadFacts {
      header ??= parsePayloadHeader(head.subarray(0, received), reading.bytes);
      return {
        method,
        bytes: reading.bytes,
        fileHash: Buffer.from(reading.sha256, 'hex').toString('base64'),
        header: headerFacts(header, metadata, reading.bytes),
      };
    },
  };
}

function headerFacts(
  header: PayloadHeader,
  metadata: MetadataCollector | undefined,
  payloadBytes: number,
): PayloadHeaderFacts {
  if (header.state !== 'read' || metadata === undefined) return header as Exclude<PayloadHeader, { state: 'read' }>;
  const announced = payloadHeaderBytes + header.manifestBytes + header.signatureBytes;
  if (announced > payloadBytes) return { state: 'cut-off', announcedBytes: String(announced) };
  return { ...header, metadataBytes: payloadHeaderBytes + header.manifestBytes, ...metadata.end() };
}

interface MetadataCollector {
  data(chunk: Uint8Array): void;
  end(): Pick<Extract<PayloadHeaderFacts, { state: 'read' }>, 'metadataHash' | 'manifest'>;
}

function collectMetadata(head: Uint8Array, manifestBytes: number): MetadataCollector {
  const hash: Hash = createHash('sha256').update(head);
  const kept: Uint8Array[] = [];
  const keeps = manifestBytes <= largestManifestBytes;
  let missing = manifestBytes;
  return {
    data(chunk) {
      if (missing === 0) return;
      const part = chunk.subarray(0, missing);
      missing -= part.length;
      hash.update(part);
      if (keeps) kept.push(part.slice());
    },
    end: () => ({
      metadataHash: hash.digest('base64'),
      manifest: keeps ? parsePayloadManifest(Buffer.concat(kept)) : { state: 'too-large' },
    }),
  };
}
