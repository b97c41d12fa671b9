import sax, { type QualifiedTag } from 'sax';
import { damaged } from './workbook-refusal.ts';

export interface XmlEvents {
  /** Local name, and attributes by local name: the namespaces of transitional and strict workbooks differ. */
  readonly open: (name: string, attributes: Readonly<Record<string, string>>) => void;
  readonly close?: (name: string) => void;
  /** In pieces, white space included. */
  readonly text?: (text: string) => void;
}

/**
 * Reads a part as XML in one pass. Document types are refused (ECMA-376 part 2, 6.2.5), so that no entity is ever expanded.
 * Throws WorkbookRefusal where it is not well-formed.
 */
export async function readXml(part: string, pieces: AsyncIterable<Uint8Array>, events: XmlEvents): Promise<void> {
  const parser = sax.parser(true, { xmlns: true, position: false });
  const fail = (problem: string) => {
    throw damaged(`${part} is not sound XML (${problem.split('\n')[0]})`);
  };
  parser.onerror = (error) => fail(error.message);
  parser.ondoctype = () => fail('a document type, which workbooks may not have');
  parser.onopentag = (tag) => {
    const { local, attributes } = tag as QualifiedTag;
    events.open(
      local,
      Object.fromEntries(
        Object.values(attributes).map(({ local, name, value }) => [local === '' ? name : local, value]),
      ),
    );
  };
  parser.onclosetag = (name) => events.close?.(name.slice(name.indexOf(':') + 1));
  parser.ontext = (text) => events.text?.(text);
  parser.oncdata = (text) => events.text?.(text);
  let decoder: InstanceType<typeof TextDecoder> | undefined;
  // Line ends become LF before anything else (XML 1.0, 2.11), which the library leaves to its caller; a CR may end a piece.
  let endsInReturn = false;
  const write = (text: string) => {
    if (text === '') return;
    const whole = endsInReturn && text.startsWith('\n') ? text.slice(1) : text;
    endsInReturn = text.endsWith('\r');
    parser.write(whole.replace(/\r\n?/g, '\n'));
  };
  try {
    for await (const piece of pieces) {
      decoder ??= new TextDecoder(encodingOf(piece), { fatal: true });
      write(decoder.decode(piece, { stream: true }));
    }
    write(decoder?.decode() ?? '');
    parser.close();
  } catch (cause) {
    if (cause instanceof TypeError) fail('bytes that are no text');
    throw cause;
  }
}

/** Parts are UTF-8 or UTF-16 (ECMA-376 part 2, 6.2.5); UTF-16 has a byte order mark. */
function encodingOf(piece: Uint8Array): string {
  if (piece[0] === 0xff && piece[1] === 0xfe) return 'utf-16le';
  return piece[0] === 0xfe && piece[1] === 0xff ? 'utf-16be' : 'utf-8';
}
