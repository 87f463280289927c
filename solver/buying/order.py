"""What an order of several materials comes to, where small orders are refused, made up or charged for.

A minimum looks at the goods after breaks; fixed costs do not count. Where the cheapest purchases of all materials reach
it, they are the cheapest order. Else what is bought more is decided for all of them together (``choice``). So is what
comes with each of several deliveries, where what is cut of a later one may come before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from solver.buying.bill import NEVER, Purchase, cheapest
from solver.buying.choice import Choice, Kinds
from solver.buying.terms import Minimum, Terms
from solver.watch import Watch


@dataclass(frozen=True, slots=True)
class Order:
    """The purchases of all materials; ``addition`` is charged on top for a small order.

    ``refused``: the goods are below the minimum, and more can't be had.
    """

    purchases: tuple[Purchase, ...]
    addition: int = 0
    refused: bool = False

    @property
    def cost(self) -> int:
        """What the whole order comes to."""
        return sum(purchase.cost for purchase in self.purchases) + self.addition


def goods_of(terms: Terms, purchase: Purchase) -> int:
    """Return what the supplier charges for a purchase without fixed costs."""
    lengths = zip(terms.lengths, purchase.bought, strict=True)
    return purchase.cost + sum(sold.worth * bought.sticks - sold.fixed for sold, bought in lengths if bought.sticks)


def order_of(
    terms: Sequence[Terms], sticks: Sequence[Sequence[int]], minimum: Minimum | None, watch: Watch
) -> Order | None:
    """Return the cheapest order of so many sticks of each material; None where they can't be had."""
    found = [cheapest(own, wanted) for own, wanted in zip(terms, sticks, strict=True)]
    purchases = tuple(purchase for purchase in found if purchase is not None)
    if len(purchases) < len(found):
        return None
    goods = sum(goods_of(own, purchase) for own, purchase in zip(terms, purchases, strict=True))
    any_bought = any(bought.sticks for purchase in purchases for bought in purchase.bought)
    if minimum is None or not any_bought:
        return Order(purchases)
    addition = minimum.addition(goods)
    charged = minimum.once(goods) if addition is None else addition
    if goods >= minimum.reached:
        return Order(purchases, charged)
    choice = Choice(minimum)
    for own, wanted in zip(terms, sticks, strict=True):
        lengths = tuple(range(len(own.lengths)))
        choice.add(own, Kinds(lengths, (0,) * len(lengths)), sum(wanted)).at_least(wanted)
    cost, chosen = choice.cheapest(NEVER, watch)
    if chosen is None:
        return Order(purchases, charged, refused=addition is None)
    more = tuple(choice.purchases)
    return Order(more, cost - sum(purchase.cost for purchase in more))


def over_deliveries(terms: Terms, wanted: Sequence[Sequence[int]], watch: Watch) -> list[list[int]] | None:
    """Return how many sticks of each length each delivery brings to be cut, so that all bills together are least.

    ``wanted`` says for each delivery how many it brings at the latest, and so it stays unless something is cheaper.
    Each is a purchase by itself: its cartons, breaks and fixed costs are its own. None where so many can't be had, or
    it was not decided.
    """
    late = [cheapest(terms, counts) for counts in wanted]
    bill = sum(purchase.cost for purchase in late if purchase)
    come = [sum(purchase.sticks[k] for purchase in late if purchase) for k in range(len(terms.lengths))]
    can_be_had = all(late) and all(
        sold.most is None or count <= sold.most for sold, count in zip(terms.lengths, come, strict=True)
    )
    choice, together = Choice(), [sum(counts) for counts in zip(*wanted, strict=True)]
    lengths = tuple(range(len(terms.lengths)))
    parts = [choice.add(terms, Kinds(lengths, (0,) * len(lengths)), sum(together)) for _ in wanted]
    for k, sold in enumerate(terms.lengths):
        due = 0
        for number, counts in enumerate(wanted, 1):
            due += counts[k]
            choice.model.add(sum(part.cut[k] for part in parts[:number]) >= due)
        if sold.most is not None:
            choice.model.add(sum(part.bought[k] for part in parts) <= sold.most)
    least, chosen = choice.cheapest(NEVER, watch)
    if chosen is None:
        return None
    if can_be_had and bill <= least:
        return [list(counts) for counts in wanted]
    dealt = [[0] * len(lengths) for _ in wanted]
    for k in lengths:
        left = together[k]
        for number, sticks in enumerate(chosen):
            dealt[number][k] = min(left, sticks[k])
            left -= dealt[number][k]
    return dealt
