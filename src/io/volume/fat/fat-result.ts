import * as FatFs from 'js-fatfs';
import type { ToolError } from '../../../core/model/tool-error.ts';
import { nameRefused, nameTaken, notAsListed, stickFailed, stickFull, stickReadOnly } from '../os-error.ts';

/** What a FatFs result means to a person (FatFs documentation, "Return code of API functions"). */
export function fatResultError(result: number, doing: 'read' | 'write', subject: string): ToolError {
  switch (result) {
    case FatFs.FR_NO_FILE:
      return notAsListed(subject, 'it is not on the stick');
    case FatFs.FR_NO_PATH:
      return notAsListed(subject, 'its folder is not on the stick');
    case FatFs.FR_INVALID_NAME:
    case FatFs.FR_INVALID_DRIVE:
      return nameRefused(subject, 'it is not a FAT name');
    case FatFs.FR_EXIST:
      return nameTaken(subject);
    case FatFs.FR_DENIED:
      return stickFull(subject, 'no room for another name in its folder');
    case FatFs.FR_WRITE_PROTECTED:
      return stickReadOnly(subject);
    case FatFs.FR_NO_FILESYSTEM:
      return stickFailed(doing, subject, 'the FAT volume is damaged: its boot sector contradicts itself');
    case FatFs.FR_INT_ERR:
      return stickFailed(doing, subject, 'the FAT volume is damaged: its allocation table leads nowhere');
    default:
      return stickFailed(doing, subject, `FatFs reports ${result}`);
  }
}
