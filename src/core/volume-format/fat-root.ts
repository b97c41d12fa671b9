/** What the slots of a root folder tell without reading any file. */
export interface RootSlots {
  readonly slotsFree: number;
  readonly label: string | undefined;
}

/**
 * Reads directory slots of 32 bytes (FAT specification, section 6): first byte 0x00 ends the folder and everything behind it is
 * free, 0xE5 is a free slot; the attribute byte at 11 with only the volume bit (0x08) of 0x3F is the label.
 */
export function readRootSlots(slots: Uint8Array): RootSlots {
  let slotsFree = 0;
  let label: string | undefined;
  for (let at = 0; at + 32 <= slots.length; at += 32) {
    if (slots[at] === 0) return { slotsFree: slotsFree + Math.floor((slots.length - at) / 32), label };
    if (slots[at] === 0xe5) slotsFree++;
    else if (label === undefined && ((slots[at + 11] ?? 0) & 0x3f) === 0x08)
      label = labelText(slots.subarray(at, at + 11));
  }
  return { slotsFree, label };
}

/** The label in a boot sector; `NO NAME` means that there is none (FAT specification, BS_VolLab at 43 or 71). */
export function bootSectorLabel(sector: Uint8Array, isFat32: boolean): string | undefined {
  const at = isFat32 ? 71 : 43;
  if (!hasExtendedFields(sector, isFat32)) return undefined;
  const text = labelText(sector.subarray(at, at + 11));
  return text === 'NO NAME' ? undefined : text;
}

/** BS_VolID at 39 or 67, as `1234-ABCD`. */
export function bootSectorSerial(sector: Uint8Array, isFat32: boolean): string | undefined {
  if (!hasExtendedFields(sector, isFat32)) return undefined;
  return serialText(new DataView(sector.buffer, sector.byteOffset).getUint32(isFat32 ? 67 : 39, true));
}

export function serialText(serial: number): string {
  const hex = serial.toString(16).toUpperCase().padStart(8, '0');
  return `${hex.slice(0, 4)}-${hex.slice(4)}`;
}

/** BS_BootSig at 38 or 66: 0x29 says that serial, label and type text follow. */
const hasExtendedFields = (sector: Uint8Array, isFat32: boolean): boolean => sector[isFat32 ? 66 : 38] === 0x29;

/** Labels are stored in the writer's code page, which nobody records; only ASCII is certain. */
function labelText(bytes: Uint8Array): string | undefined {
  const text = [...bytes].map((byte) => (byte >= 0x20 && byte < 0x7f ? String.fromCharCode(byte) : '\ufffd')).join('');
  return text.trimEnd() || undefined;
}
