import type { FindingCode } from '../../findings/catalogue.ts';
import type { ShelfRecord } from '../../shelf/shelf-record.ts';

/** What an inspection says of a package that tells the panel to erase its data. */
const wipeCodes: readonly FindingCode[] = ['update/wipes-data', 'update/wipe-breaks-promise'];

/** Whether the package itself erases, in whichever mode it is taken: POWERWASH, ota-wipe, as found when it was added. */
export const packageWipes = ({ result }: Pick<ShelfRecord, 'result'>): boolean =>
  result.findings.some(({ code }) => wipeCodes.some((wipe) => wipe === code));
