// Plain questions before a number is kept: a slip of unit or point, a value outside its band. The server looks again.
const FAR = 4, NEAR = Math.log(1.5), POINTS = [10, 0.1, 100, 0.01, 1000, 0.001];

/** The factor of a unit to the base of its kind, as the page tells it: {"s": 1, "min": 60}. */
function scales(form) {
  try {
    return JSON.parse(form.dataset.units || "{}");
  } catch {
    return {};
  }
}

const digits = (number) => String(Number(number.toPrecision(4)));

/**
 * A plain look at a number before it is kept: null, or what to ask: {said, meant, unit}.
 * The plan stands at the form: data-plan (number), data-half (half of its band), data-unit.
 */
export function question(form) {
  const { plan, half, unit: planned, what } = form.dataset;
  const typed = form.querySelector("input[name=value]");
  if (!typed || plan === undefined || plan === "") return null;
  const value = Number(typed.value.replace(",", "."));
  const unit = new FormData(form).get("unit") || planned;
  const scale = scales(form), middle = Number(plan), side = Number(half) * (1 + 1e-9);
  const as = (number, from) => (number * (scale[from] ?? 1)) / (scale[planned] ?? 1);
  const own = as(value, unit);
  if (!Number.isFinite(value) || Math.abs(own - middle) <= side) return null;
  const off = (number) => (number / middle > 0 ? Math.abs(Math.log(number / middle)) : Infinity);
  const entered = `${digits(value)} ${unit}`, wanted = `${digits(middle)} ${planned}`;
  if (off(own) >= Math.log(FAR) && off(own) < Infinity) {
    const swapped = Object.keys(scale).filter((each) => each !== unit).map((each) => [value, each]);
    const moved = POINTS.map((factor) => [value * factor, unit]);
    const near = [...swapped, ...moved].filter(([number, each]) => off(as(number, each)) <= NEAR);
    near.sort((a, b) => off(as(...a)) - off(as(...b)));
    const best = near.find(([number, each]) => Math.abs(as(number, each) - middle) <= side) || near[0];
    if (best)
      return {
        said: `${entered} entered, ${wanted} planned: did you mean ${digits(best[0])} ${best[1]}?`,
        meant: digits(best[0]),
        unit: best[1],
      };
  }
  const low = own < middle;
  const limit = `${digits(middle + (low ? -1 : 1) * Number(half))} ${planned}`;
  return { said: `${what} ${entered} is ${low ? "below" : "above"} ${limit}, the limit of the band around ${wanted}` };
}
