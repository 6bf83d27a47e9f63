"""Narrowing a list by what was asked for."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest
from django_filters.rest_framework import DjangoFilterBackend
from rest_framework.views import APIView


class Filtering(DjangoFilterBackend):
    """Filters by the query's parameters; without any the form that checks them is not made."""

    def filter_queryset(
        self, request: HttpRequest, queryset: QuerySet[Any], view: APIView
    ) -> QuerySet[Any]:
        """Return what was asked for; raises ValidationError naming the parameter."""
        if not request.GET:
            return queryset
        return super().filter_queryset(request, queryset, view)
