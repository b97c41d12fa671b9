export interface MountRow {
  /** `major:minor`, as the kernel names the device. */
  readonly deviceNumber: string;
  readonly mountPoint: string;
  readonly osType: string;
  readonly source: string;
  readonly readOnly: boolean;
  /** What its file system was told, the folders of an overlay's layers among it. */
  readonly superOptions: readonly string[];
}

/** Linux Documentation/filesystems/proc.rst, section 3.5: fields before and after a lone `-`, spaces as octal escapes. */
export function parseMountInfo(text: string): readonly MountRow[] {
  return text.split('\n').flatMap((line) => {
    const fields = line.split(' ');
    const dash = fields.indexOf('-', 6);
    const [, , deviceNumber, , mountPoint, options] = fields;
    const [osType, source, superOptions] = fields.slice(dash + 1);
    if (dash < 0 || deviceNumber === undefined || mountPoint === undefined || osType === undefined) return [];
    return {
      deviceNumber,
      mountPoint: decodeField(mountPoint),
      osType,
      source: decodeField(source ?? ''),
      readOnly: isReadOnly(options) || isReadOnly(superOptions),
      superOptions: decodeField(superOptions ?? '').split(','),
    };
  });
}

const isReadOnly = (options: string | undefined): boolean => options?.split(',').includes('ro') ?? false;

/** Each byte of a name that is not plain stands as three octal digits, so the bytes are put together before UTF-8 is read. */
function decodeField(field: string): string {
  if (!field.includes('\\')) return field;
  const bytes = field
    .match(/\\[0-7]{3}|[^\\]+|\\/g)
    ?.map((part) =>
      part.length === 4 && part.startsWith('\\') ? Buffer.from([Number.parseInt(part.slice(1), 8)]) : Buffer.from(part),
    );
  return Buffer.concat(bytes ?? []).toString('utf8');
}

/** The mount that PATH (absolute, free of links) lies in: the longest mount point above it, the last one where several are stacked. */
export function findMount(rows: readonly MountRow[], path: string): MountRow | undefined {
  let best: MountRow | undefined;
  for (const row of rows) {
    const folder = row.mountPoint === '/' ? '/' : `${row.mountPoint}/`;
    const holds = path === row.mountPoint || path.startsWith(folder);
    if (holds && (best === undefined || row.mountPoint.length >= best.mountPoint.length)) best = row;
  }
  return best;
}
