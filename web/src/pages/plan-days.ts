// Days of the week as a plan names them.
import { day } from '../format';

const monday = Date.UTC(2024, 0, 1);
export const weekdays = [1, 2, 3, 4, 5, 6, 7] as const;
export const weekdayName = (n: number) => day(new Date(monday + (n - 1) * 86400000).toISOString().slice(0, 10), 'weekday').split(/[ ,]/)[0]!.replace('.', '');
