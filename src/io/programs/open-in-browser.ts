import { startOpener } from './run-program.ts';

/**
 * Opens ADDRESS in the person's own browser, as the system does it. Says why where it could not; the address is then
 * for the person to open. Windows and macOS: reasoned from their documentation (rundll32's FileProtocolHandler,
 * open(1)).
 */
export async function openInBrowser(address: string, platform = process.platform): Promise<string | undefined> {
  try {
    if (platform === 'win32') await startOpener('rundll32.exe', ['url.dll,FileProtocolHandler', address]);
    else await startOpener(platform === 'darwin' ? 'open' : 'xdg-open', [address]);
    return undefined;
  } catch (error) {
    return error instanceof Error ? error.message : String(error);
  }
}
