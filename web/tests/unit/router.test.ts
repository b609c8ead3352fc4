import { expect, test } from 'vitest';
import { address } from '../../src/api/client';
import { link, parseRoute } from '../../src/router';

test('names with any letters go there and back', () => {
  const id = 'ünal/100 %?#';
  expect(parseRoute(link('lifter', id, 'log')).parts).toEqual([id, 'log']);
  expect(parseRoute('')).toMatchObject({ page: '', parts: [] });
  expect(parseRoute('#/lifter/%E0%A4%A')).toMatchObject({ page: 'lifter' });
  expect(parseRoute('#/lifter/a/log?exercise=bench').query.get('exercise')).toBe('bench');
});
test('addresses of the interface', () => {
  expect(address('GET /api/lifters/{lifter}/sets', { lifter: 'a b/c' }, { exercise: '', limit: 3, offset: undefined })).toBe('api/lifters/a%20b%2Fc/sets?limit=3');
});
