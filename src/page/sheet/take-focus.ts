import { useEffect, useRef } from 'preact/hooks';

/**
 * What had the focus may go when a piece of work goes on; then the focus goes to what came in its place, so that
 * whoever works by keyboard, or listens, is where the work is. Somebody who is elsewhere meanwhile stays there. Looked
 * at when it is drawn, and when WHEN is another.
 */
export function useFocus<Element extends HTMLElement>(when?: unknown) {
  const ref = useRef<Element>(null);
  useEffect(() => {
    if (document.activeElement === document.body) ref.current?.focus({ preventScroll: true });
  }, [when]);
  return ref;
}
