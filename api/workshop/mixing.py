"""Recipes, the lots they take, and batches."""

from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.workshop.common import OfMakerFilter, asked, done
from api.workshop.mixing_serializers import (
    BatchDetailSerializer,
    BatchSerializer,
    MixAnswerSerializer,
    MixQuestionSerializer,
    NewBatchSerializer,
    NewRecipeSerializer,
    RecipeSerializer,
)
from network.workshop import services
from network.workshop.models import (
    Batch,
    Recipe,
)
from network.workshop.queries import seen
from network.workshop.queries.mixing import mix_for


class RecipesView(ListModelMixin, CommunityView):
    """Recipes."""

    serializer_class = RecipeSerializer
    queryset = Recipe.objects.none()
    filterset_class = OfMakerFilter

    def get_queryset(self) -> QuerySet[Recipe]:
        return seen.recipes_seen_by(self.actor)

    @extend_schema(operation_id="recipes_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="recipe_save", request=NewRecipeSerializer, responses={201: RecipeSerializer}
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = asked(NewRecipeSerializer(data=request.data))
        recipe = services.save_recipe(self.actor, recipe_id=idempotency_key(request), **sent)
        return Response(RecipeSerializer(recipe).data, status=201)


class RecipeMixView(CommunityView):
    """Which lots a recipe takes, or what is short and the nearest that could be made."""

    @extend_schema(
        operation_id="recipe_mix", request=MixQuestionSerializer, responses=MixAnswerSerializer
    )
    def post(self, request: Request, community: str, recipe_id: UUID) -> Response:
        given = asked(MixQuestionSerializer(data=request.data))
        return Response(MixAnswerSerializer(mix_for(self.actor, recipe_id, **given)).data)


class BatchesView(ListModelMixin, CommunityView):
    """Batches, newest first."""

    serializer_class = BatchSerializer
    queryset = Batch.objects.none()
    filterset_class = OfMakerFilter

    def get_queryset(self) -> QuerySet[Batch]:
        return seen.batches_seen_by(self.actor)

    @extend_schema(operation_id="batches_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="batch_charge",
        request=NewBatchSerializer,
        responses={201: BatchDetailSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = done(NewBatchSerializer(data=request.data))
        charges = [services.Charged(**one) for one in sent.pop("charges")]
        mass_g, with_offcuts = sent.pop("mass_g"), sent.pop("with_offcuts")
        sent["additive"] = sent["additive"] and services.Additive(**sent["additive"])
        batch_id = idempotency_key(request)
        if charges:
            services.charge_batch(self.actor, batch_id=batch_id, charges=charges, **sent)
        else:
            services.charge_by_recipe(
                self.actor, batch_id=batch_id, mass_g=mass_g, with_offcuts=with_offcuts, **sent
            )
        batch = seen.batch_seen_by(self.actor, batch_id)
        return Response(BatchDetailSerializer(batch).data, status=201)


class BatchView(CommunityView):
    """A batch."""

    @extend_schema(operation_id="batch_read", responses=BatchDetailSerializer)
    def get(self, request: Request, community: str, batch_id: UUID) -> Response:
        return Response(BatchDetailSerializer(seen.batch_seen_by(self.actor, batch_id)).data)
