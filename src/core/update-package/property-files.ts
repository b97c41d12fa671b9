import type { ArchiveEntry } from '../model/archive-facts.ts';
import { groupBy } from '../text/words.ts';
import { type PropertyFile, parsePropertyFiles } from './metadata.ts';
import { payloadHeaderBytes, payloadPath } from './parse-payload.ts';
import type { MetadataForm, PayloadFacts, PropertyFilePlace, PropertyFilesFacts } from './update-package-facts.ts';

interface Place {
  readonly entry: ArchiveEntry;
  readonly offset: number;
}

/** Looks up every place that either form of the metadata names; a list that both give alike is looked up once. */
export function placePropertyFiles(
  forms: readonly MetadataForm[],
  places: readonly Place[],
  payload: PayloadFacts | undefined,
): PropertyFilesFacts {
  const lists = forms.flatMap((form) => (form.state === 'read' ? form.metadata.propertyFiles : []));
  const distinct = [...new Map(lists.map((one) => [`${one.list}\0${one.text.trim()}`, one])).values()];
  const byName = groupBy(places, ({ entry }) => entry.name.split('/').at(-1) ?? '');
  const found: PropertyFilePlace[] = [];
  const unreadable: string[] = [];
  for (const { list, text } of distinct) {
    const files = parsePropertyFiles(text);
    if (files === undefined) unreadable.push(list);
    for (const stated of files ?? []) found.push({ list, stated, actual: actualPlace(stated, byName, payload) });
  }
  return { places: found, unreadable };
}

function actualPlace(
  stated: PropertyFile,
  byName: ReadonlyMap<string, readonly Place[]>,
  payload: PayloadFacts | undefined,
): PropertyFilePlace['actual'] {
  if (stated.name === 'payload_metadata.bin') return payloadHead(byName, payload);
  const places = byName.get(stated.name) ?? [];
  const place = places.find((one) => one.offset === stated.offset) ?? places[0];
  return place && { offset: place.offset, bytes: place.entry.bytes, stored: place.entry.method === 0 };
}

/** Header, manifest and metadata signature of the payload, which have no entry of their own. */
function payloadHead(
  byName: ReadonlyMap<string, readonly Place[]>,
  payload: PayloadFacts | undefined,
): PropertyFilePlace['actual'] {
  const place = byName.get(payloadPath)?.find((one) => one.entry.name === payloadPath);
  if (place === undefined || payload?.header.state !== 'read') return undefined;
  const bytes = payloadHeaderBytes + payload.header.manifestBytes + payload.header.signatureBytes;
  return { offset: place.offset, bytes, stored: place.entry.method === 0 };
}
