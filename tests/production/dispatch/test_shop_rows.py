"""What weld and coating wrote down stands in the as-built record."""

from decimal import Decimal

import pytest

from bom.kernel.attachments import PAPERS, read_attachment
from bom.structure.models import Process
from production.coating.counting_back import load_back
from production.coating.filing import file_certificate
from production.coating.judging import Read, read_thickness
from production.coating.loads import send_load
from production.coating.powder import begin_batch, end_step, finish_batch
from production.coating.powder_models import Step
from production.dispatch.gathering import gathered
from production.dispatch.models import BuiltRow
from production.works.card_models import CardLine, JobCard
from production.works.weld_inspecting import clear_weld, inspect_weld
from tests.production.floor import floor_shop, load, operation, powder_batch, signed, welded

pytestmark = pytest.mark.django_db
DUPLEX = {"finish": "duplex", "colours": {"port": "red", "starboard": "green", "powder": "blue"}}


def test_the_record_names_loads_certificates_welds_and_powder_of_its_frame():
    shop = floor_shop()
    order = welded(shop, **DUPLEX)
    card = JobCard.objects.create(number="C99999", process=Process.objects.get(code="weld"), state="done")
    CardLine.objects.create(
        card=card, operation=operation(order, "weld"), item=shop.items["CH"], pieces=Decimal(1)
    )
    found = inspect_weld(card=card, is_good=False, words="pores", by=shop.user, key="card:1")
    clear_weld(inspection=found, reason="ground out", by=shop.user)
    made = signed(shop, load(shop, [order]))
    send_load(load=made, by=shop.user)
    load_back(load=made, by=shop.user)
    paper = read_attachment(b"%PDF-1.4 %%EOF", kinds=PAPERS, what="certificate")
    file_certificate(load=made, number="Z 1", mean_um=80, attachment=paper, by=shop.user, key="load:1")
    batch = powder_batch(shop, [order])
    begin_batch(batch=batch, by=shop.user)
    for step in Step:
        end_step(batch=batch, step=step, by=shop.user)
    read_thickness(line=batch.lines.get(), reads=[Read("drawbar", Decimal(160), Decimal(80))], by=shop.user)
    finish_batch(batch=batch, by=shop.user)

    rows = gathered(order)

    said = {row.words for row in rows}
    assert {
        "Weld, card C99999: not good, pores, cleared by office: ground out",
        "Powder, batch PB-1: good, mean 80 µm of 1 readings",
        "Galvanising certificate Z 1, load GL-1",
    } <= said
    coated = {row.source.code for row in rows if row.source and row.kind == BuiltRow.Kind.COATED}
    assert coated == {"GL-1", "PB-1"}
