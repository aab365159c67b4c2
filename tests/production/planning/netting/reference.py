"""The textbook's netting in buckets, item by item with Decimals: slow, and written without looking at the fast one."""

from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from production.planning.netting.data import LotRule

MILLI = Decimal("0.001")


def up(quantity, to=MILLI):
    return (quantity / to).to_integral_value(ROUND_CEILING) * to


def down(quantity):
    return (quantity / MILLI).to_integral_value(ROUND_FLOOR) * MILLI


def net(rules, lines, on_hand, receipts, demand, buckets):
    """By item: gross, planned, released and balance, each a list by bucket."""
    parents = {}
    for line in lines:
        parents.setdefault(line.component, []).append(line)
    by_item = {rule.item: rule for rule in rules}
    found = {}

    def of(item):
        if item not in found:
            found[item] = _one(item)
        return found[item]

    def _one(item):
        rule = by_item[item]
        gross = []
        for bucket in range(buckets):
            below = sum(
                (
                    of(line.parent)["released"][bucket] * line.quantity
                    for line in parents.get(item, ())
                    if line.first <= bucket < line.until
                ),
                Decimal(0),
            )
            gross.append(up(below) + demand.get((item, bucket), Decimal(0)))
        coming = [receipts.get((item, bucket), Decimal(0)) for bucket in range(buckets)]
        return {"gross": gross, **_lots(rule, gross, coming, on_hand.get(item, Decimal(0)), buckets)}

    for rule in rules:
        of(rule.item)
    return found


def _lots(rule, gross, coming, stock, buckets):
    safety = Decimal(0) if rule.phantom else rule.safety_stock
    lead = 0 if rule.phantom else rule.lead_days
    good = 1 - rule.scrap_fraction
    released = [Decimal(0)] * buckets
    planned, balance = [], []
    begun_so_far = good_so_far = Decimal(0)
    bare = stock
    shelf_alone = []
    for bucket in range(buckets):
        bare += coming[bucket] - gross[bucket]
        shelf_alone.append(bare)
    for bucket in range(buckets):
        begin = Decimal(0)
        if shelf_alone[bucket] + good_so_far < safety:
            begin = _lot(rule, safety, good, shelf_alone, bucket, begun_so_far, good_so_far)
        begun_so_far += begin
        before, good_so_far = good_so_far, down(begun_so_far * good)
        planned.append(good_so_far - before)
        released[max(0, bucket - lead)] += begin
        balance.append(shelf_alone[bucket] + good_so_far)
    return {"planned": planned, "released": released, "balance": balance}


def _lot(rule, safety, good, shelf_alone, bucket, begun_so_far, good_so_far):
    """What to begin so that the shelf holds its safety stock at the end of the bucket."""
    lot_rule = LotRule.AS_NEEDED if rule.phantom else rule.lot_rule
    whole = Decimal(1) if rule.whole else MILLI
    until = bucket + (int(rule.lot_size) if lot_rule == LotRule.PERIODS else 1)
    lowest = min(shelf_alone[bucket:until])
    missing = safety - lowest - good_so_far
    if lot_rule == LotRule.MINIMUM:
        return max(up(up(missing / good), whole), rule.lot_size)
    if lot_rule == LotRule.PERIODS:
        return up(up(missing / good), whole)
    # All that was ever needed, rounded up to whole lots, less what was begun: what is over serves the next need.
    ever = up((safety - min(shelf_alone[: bucket + 1])) / good)
    return up(ever, whole if lot_rule == LotRule.AS_NEEDED else rule.lot_size) - begun_so_far
