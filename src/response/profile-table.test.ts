import { describe, expect, it } from 'vitest';
import { readProfile } from './profile-table.ts';

const read = (text: string) => readProfile('steps.csv', new TextEncoder().encode(text));

describe('a load profile', () => {
  it('is read in any unit and column order, blank speeds left out', () => {
    expect(read('power_kW,time_min,fan_rpm,note\n0.2,0,1200,on\n0.1,10,,\n0,12.5,900,off\n')).toEqual([
      { time_s: 0, power_W: 200, fan_rpm: 1200 },
      { time_s: 600, power_W: 100 },
      { time_s: 750, power_W: 0, fan_rpm: 900 },
    ]);
    expect(read('time_min,power_W\n0,200\n10,0\n')[1]).toEqual({ time_s: 600, power_W: 0 });
  });

  it.each([
    ['time_s,power_W\n0,200\n10,x\n', /^steps\.csv:3:4: "x" is not a number; power_W needs one/],
    ['time_s,power_W\n0,200\n0,100\n', /^steps\.csv:3:1: the time 0 s does not come after 0 s/],
    ['time_s,power_W\n0,-5\n', /^steps\.csv:2:3: power_W is -5; it must not be negative/],
    ['time_s,power_W,fan_rpm\n0,100,0\n', /^steps\.csv:2:7: fan_rpm is 0; it must be greater than 0/],
    ['time_s,power_W\n0,\n', /^steps\.csv:2:3: power_W is empty; every row needs a number here/],
    ['time_s,fan_rpm\n0,100\n', /^steps\.csv:1:1: missing column power_W/],
    ['time,power_W\n0,100\n', /^steps\.csv:1:1: column "time" has no unit/],
    ['time_s,power_W,power_kW\n0,1,1\n', /^steps\.csv:1:16: .*are the same quantity/],
    ['time_s,power_W\n', /^steps\.csv:1:1: there is no row below the header/],
    ['', /^steps\.csv:1:1: the file is empty/],
  ])('%j is refused at its cell', (text, message) => {
    expect(() => read(text)).toThrow(message);
  });
});
