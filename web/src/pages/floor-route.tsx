import { useEffect } from 'preact/hooks';
import { t } from '../text';
import type { Route } from '../router';
import { FloorChoice, FloorPage } from './floor';

export function FloorRoute({ route, version }: { route: Route; version: number }) {
  useEffect(() => {
    document.title = `${t('floor.title')} · Ullage`;
  }, []);
  const ids = (route.parts[0] ?? '').split(',').filter(Boolean);
  if (!ids.length) return <FloorChoice />;
  return (
    <main id="main" tabIndex={-1} class="floor-main">
      <h1 class="unseen">{t('floor.title')}</h1>
      {ids.length > 1 && <p class="floor-top"><a href="#/floor">{t('floor.others')}</a></p>}
      <FloorPage lifters={ids} version={version} />
    </main>
  );
}
