import { render } from 'preact';
import { takeDropped } from './dropped.ts';
import { Page } from './page.tsx';
import { stayConnected } from './state.ts';

// Of no sheet's name: the browser would take the focus there when that one is turned to.
const place = document.getElementById('window');
if (place !== null) {
  place.replaceChildren();
  render(<Page />, place);
  takeDropped();
  void stayConnected();
}
