import { UsageError } from './usage-error.ts';

/** Whole bytes, alone or in groups of three: pages print 1234567 as "1,234,567", "1.234.567" or "1 234 567". */
const wholeBytes = /^(?:\d+|\d{1,3}(?:[,.'\u2019\s]\d{3})+)$/;

/** The file's length that a person copied from the maker's page. */
export function readExpectedBytes(text: string | undefined): number | undefined {
  if (text === undefined) return undefined;
  const bytes = wholeBytes.test(text.trim()) ? Number(text.replace(/\D/g, '')) : 0;
  if (Number.isSafeInteger(bytes) && bytes > 0) return bytes;
  const todo = 'Give the exact number of bytes, such as 1234567890; a rounded size such as 1.2 GB proves nothing.';
  throw new UsageError(`"${text}" is no number of bytes.`, todo);
}
