"""The call from the site: the ground is softer than it was read. A change order at the signed prices.

Run it where `basecalc demo` has left its folder:  python examples/softer_ground.py
"""

from basecalc import change_order, load_quote, write_change

signed = load_quote("basecalc-demo/quotes/LF-2601-r1-office.xlsx")  # its own prices, whatever today's are
area = signed.quote.job.areas[0].name
order = change_order(signed.quote, {area: "medium"}, signed.revision)
print(f"{signed.quote.job.number}: {area}, designed for {signed.quote.ground[area].strength.strength_class} ground")
for line in order.lines:
    print(f"  {line.title:<40} {line.difference:>12,.2f}")
print(f"  {'to be signed before work goes on':<40} {order.total:>12,.2f}\n")

files = write_change(order, "quotes")
print(f"For the client: {files.client}\nFor the office: {files.office}\nFor the crew:   {files.crew}")
