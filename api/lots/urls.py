from django.urls import path

from api.lots import history, sealing, views, weighings
from api.lots.feedback import PlaceFeedbackView

C = "communities/<slug:community>/"
LOT = f"{C}lots/<uuid:lot_id>/"
HISTORY = f"{C}history-imports/<uuid:import_id>/"

urlpatterns = [
    path(f"{C}scales/", views.ScalesView.as_view(), name="scales"),
    path(f"{C}lots/", views.LotsView.as_view(), name="lots"),
    path(LOT, views.LotView.as_view(), name="lot"),
    path(f"{LOT}weigh/", views.LotWeighView.as_view(), name="lot-weigh"),
    path(f"{LOT}inspect/", views.LotInspectView.as_view(), name="lot-inspect"),
    path(f"{LOT}split/", views.LotSplitView.as_view(), name="lot-split"),
    path(f"{LOT}lose/", views.LotLoseView.as_view(), name="lot-lose"),
    path(f"{LOT}pass-on/", views.LotPassOnView.as_view(), name="lot-pass-on"),
    path(f"{C}weighings/batch/", weighings.WeighingsBatchView.as_view(), name="weighings-batch"),
    path(f"{C}lot-merges/", views.LotMergeView.as_view(), name="lot-merge"),
    path(f"{C}movements/", views.MovementsView.as_view(), name="movements"),
    path(
        f"{C}movements/<uuid:movement_id>/reverse/",
        views.MovementReverseView.as_view(),
        name="movement-reverse",
    ),
    path(
        f"{C}movements/<uuid:movement_id>/proof/",
        sealing.MovementProofView.as_view(),
        name="movement-proof",
    ),
    path(f"{C}seals/", sealing.SealsView.as_view(), name="seals"),
    path(f"{C}seal-proofs/check/", sealing.SealProofCheckView.as_view(), name="seal-proof-check"),
    path(f"{C}history-imports/", history.HistoryImportsView.as_view(), name="history-imports"),
    path(HISTORY, history.HistoryImportView.as_view(), name="history-import"),
    path(f"{HISTORY}save/", history.HistoryImportSaveView.as_view(), name="history-import-save"),
    path(f"{HISTORY}undo/", history.HistoryImportUndoView.as_view(), name="history-import-undo"),
    path(f"{C}balances/", views.BalancesView.as_view(), name="balances"),
    path(
        f"{C}places/<uuid:place_id>/feedback/", PlaceFeedbackView.as_view(), name="place-feedback"
    ),
]
