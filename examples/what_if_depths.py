"""What the depth would be on other ground, and what a job costs at other depths.

Run it where `basecalc demo` has left its folder:  python examples/what_if_depths.py
"""

from basecalc import base_depth, estimate, load_job, load_prices, take_off

INCH = 0.0254  # m

print("CBR, %   stone only, in   with geogrid, in")
for cbr in (0.4, 0.6, 0.8, 1.2, 1.6, 2.4, 3.2, 6.4):
    stone = base_depth(cbr, "light").required_m / INCH
    grid = base_depth(cbr, "light", "geogrid", aperture_stability=0.3).required_m / INCH
    print(f"{cbr:6} {stone:16.0f} {grid:18.0f}")

job, book = load_job("basecalc-demo/jobs/2-soft-ground.toml"), load_prices("basecalc-demo/prices.xlsx")
name = job.areas[0].name
print(f"\n{job.number}, {name}, at one depth or another:")
for depth in range(8, 25, 4):
    made = estimate(take_off(job, book.company, {name: depth * INCH}, "habit", cbrs={name: 0.6}), book)
    stone, dig = made.takeoff.amount("base-stone"), made.takeoff.amount("dig")
    print(f"  base {depth:2} in: stone {stone:6.1f} ton, dig {dig:6.1f} yd3, total {made.total:,.2f}")
