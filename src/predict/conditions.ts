/** What every command that answers at stated conditions accepts. */
export interface Conditions {
  /** Loads in W. A command has its own default when absent. */
  power_W?: readonly number[];
  /** At most one of the three speed conditions; default: `fan_percent` 100. */
  fan_rpm?: number;
  fan_percent?: number;
  /** Pump speed of liquid coolers, or its share of the greatest one; default: the greatest that the cooler was run at. */
  pump_rpm?: number;
  pump_percent?: number;
  /** Metered level at the bench's distance, background included. */
  sound_dBA?: number;
  /** Source name, default `heater`. */
  source?: string;
  /** Coolers to answer for; default all with runs. */
  coolers?: readonly string[];
  ambient_C?: number;
  /** Air pressure of the room that the answer is for, or its altitude in the standard atmosphere; default: the bench's own. */
  pressure_hPa?: number;
  altitude_m?: number;
  /** How much warmer than the room the air enters the fans, as in a case, K; or the share of the cooler's exhaust in it, %. */
  inlet_rise_K?: number;
  recirculation_percent?: number;
  /** Orientation as the runs name it; default: the one with most runs. */
  orientation?: string;
  /** Paste of the mean: that of this bench's batches (`bench`, default), or of a batch that it has not had (`any`). */
  paste?: 'bench' | 'any';
  /** Confidence level, 0.5 < level < 1, default 0.95. */
  level?: number;
  seed?: number;
  /** Runs (by id) and mounts (`cooler/sample/mount`) to set aside; a warning says so. */
  without?: readonly string[];
}
