import { render } from 'preact';
import { takeDropped } from './dropped.ts';
import { Page } from './page.tsx';
import { stayConnected } from './state.ts';

const place = document.getElementById('desk');
if (place !== null) {
  place.replaceChildren();
  render(<Page />, place);
  takeDropped();
  void stayConnected();
}
