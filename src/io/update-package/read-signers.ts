import { X509Certificate } from 'node:crypto';
import { ToolError } from '../../core/model/tool-error.ts';
import { readRegularFile } from '../files/regular-file.ts';

/** Far more than a file of certificates has. */
const largestBytes = 1_000_000;

const pemBlock = /-----BEGIN CERTIFICATE-----[\s\S]+?-----END CERTIFICATE-----/g;

/**
 * Reads the trusted certificates in a file, PEM (one or several) or DER, as DER. Throws ToolError `file/not-found`,
 * `file/not-permitted`, and `file/unreadable` where there is none in it.
 */
export async function readSigners(path: string): Promise<readonly Uint8Array[]> {
  const bytes = await readSmall(path);
  const blocks = bytes.toString('latin1').match(pemBlock) ?? [];
  try {
    return (blocks.length > 0 ? blocks : [bytes]).map((one) => new X509Certificate(one).raw);
  } catch (cause) {
    throw new ToolError(
      'file/unreadable',
      path,
      `${path} holds no certificate that can be read.`,
      "Give the maker's X.509 certificate as PEM or DER (.pem, .crt, .cer, .der); a private key or a zip will not do.",
      cause,
    );
  }
}

async function readSmall(path: string): Promise<Buffer> {
  try {
    return await readRegularFile(path, largestBytes);
  } catch (cause) {
    if (cause instanceof ToolError) throw cause;
    const code = (cause as NodeJS.ErrnoException).code;
    if (code === 'ENOENT') {
      throw new ToolError('file/not-found', path, `There is no file ${path}.`, 'Check the name after --signer.', cause);
    }
    const permitted = code !== 'EACCES' && code !== 'EPERM';
    throw new ToolError(
      permitted ? 'file/unreadable' : 'file/not-permitted',
      path,
      `${path} could not be read as a certificate.`,
      permitted ? "Give the maker's certificate as a PEM or DER file." : 'Ask for the right to read it, or copy it.',
      cause,
    );
  }
}
