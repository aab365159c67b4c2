"""Trace against reachability in an independent library of graphs (networkx: descendants and ancestors)."""

import networkx
import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from production.dispatch import tracing
from production.dispatch.models import Origin, Source

pytestmark = pytest.mark.django_db


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    edges=st.sets(
        st.tuples(st.integers(0, 11), st.integers(0, 11)).filter(lambda pair: pair[0] < pair[1]), max_size=30
    )
)
def test_trace_reaches_what_a_library_of_graphs_reaches(db, edges):
    with transaction.atomic():
        sources = [Source.objects.create(kind="lot", code=f"N{node}") for node in range(12)]
        Origin.objects.bulk_create(
            Origin(made_from=sources[first], source=sources[second]) for first, second in sorted(edges)
        )
        graph = networkx.DiGraph()
        graph.add_nodes_from(range(12))
        graph.add_edges_from(edges)
        numbers = {source.pk: node for node, source in enumerate(sources)}
        for node in range(12):
            forward = {numbers[pk] for pk in tracing.made_of([sources[node].pk])}
            back = {numbers[pk] for pk in tracing.came_from([sources[node].pk])}
            assert forward == networkx.descendants(graph, node) | {node}
            assert back == networkx.ancestors(graph, node) | {node}
        transaction.set_rollback(True)
