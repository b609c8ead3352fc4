import { render } from 'preact';
import { App } from './App';
import { habits } from './habits';
import { setLanguage } from './text';
import './design/tokens.css';
import './design/fonts.css';
import './design/base.css';
import './design/pages.css';
import './design/plan.css';
import './design/floor.css';
import './design/bench.css';
import './design/print.css';

async function start() {
  const root = document.documentElement;
  root.dataset.scheme = habits().theme;
  root.dataset.paper = habits().paper;
  await setLanguage(habits().language).catch(() => undefined);
  render(<App />, document.getElementById('page')!);
  // Keeps the page itself at hand, so that a reload works with the program away. Only there on https and on this computer.
  if ('serviceWorker' in navigator && import.meta.env.PROD) navigator.serviceWorker.register('./sw.js').catch(() => undefined);
}
void start();
