"""One job, from readings to a priced quote and its three workbooks.

Run it where `basecalc demo` has left its folder:  python examples/one_job.py
"""

from basecalc import order_text, quote

made = quote("basecalc-demo/jobs/2-soft-ground.toml", "basecalc-demo/prices.xlsx")
for name, ground in made.ground.items():
    print(f"{name}: {ground.strength.strength_class} ground, {ground.rule}")
    print(f"  stone only:   {made.depths[name].reason}")
    print(f"  with geogrid: {made.geogrid_depths[name].reason}")

print(f"\nOffered: {made.offered}, {made.offer.total:,.2f}")
for line in made.offer.lines:
    print(f"  {line.item:<34} {line.quantity:>10,} {line.unit:<5} at {line.unit_price:>8} {line.amount:>12,.2f}")
for name, prices in made.deeper.areas.items():
    added = ", ".join(f"{price:,.2f}" for price in prices)
    print(f"{name}, each {made.deeper.step} more of base if the ground turns out softer adds in all: {added}")

files = made.save("quotes")
print(f"\nFor the client: {files.client}\nFor the office: {files.office}\nFor the crew:   {files.crew}\n")
print(order_text(made))
