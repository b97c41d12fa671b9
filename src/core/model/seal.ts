import * as z from 'zod';

const base64 = z.string().regex(/^[A-Za-z0-9+/]+={0,2}$/);

/**
 * What lies beside a manifest that a desk has sealed. The published JSON Schema is made from this definition.
 */
export const sealSchema = z.strictObject({
  schema: z.literal('stickwright/seal/1'),
  algorithm: z.literal('Ed25519').describe('RFC 8032.'),
  publicKey: base64.max(200).describe("The desk's public key: SubjectPublicKeyInfo (RFC 8410) in DER, base64."),
  signature: base64
    .max(200)
    .describe(
      'Over the UTF-8 bytes of "stickwright/seal/1", a line feed, and the RFC 8785 form of the manifest without selfSha256; base64.',
    ),
});

export type Seal = z.infer<typeof sealSchema>;
