from django.urls import URLPattern, path

from api.workshop import looking, mixing, passports, pressing, processing, selling

C = "communities/<slug:community>"

urlpatterns: list[URLPattern] = [
    path("workshop-cautions/", looking.WorkshopCautionsView.as_view(), name="workshop-cautions"),
    path(f"{C}/identify/", looking.IdentifyView.as_view(), name="identify"),
    path(f"{C}/sampling-plan/", looking.SamplingPlanView.as_view(), name="sampling-plan"),
    path(f"{C}/colour-match/", looking.ColourMatchView.as_view(), name="colour-match"),
    path(f"{C}/heat-plan/", pressing.HeatPlanView.as_view(), name="heat-plan"),
    path(f"{C}/price/", selling.PriceView.as_view(), name="price"),
    path(f"{C}/yields/", processing.YieldsView.as_view(), name="yields"),
    path(
        f"{C}/recipes/<uuid:recipe_id>/mix/",
        mixing.RecipeMixView.as_view(),
        name="recipe-mix",
    ),
    path(f"{C}/heat-limit/", pressing.HeatLimitView.as_view(), name="heat-limit"),
    path(
        f"{C}/streams/<uuid:stream_id>/certainty/",
        looking.CertaintyView.as_view(),
        name="certainty",
    ),
    path(f"{C}/colours/", looking.ColoursView.as_view(), name="colours"),
    path(f"{C}/colours/<uuid:colour_id>/", looking.ColourView.as_view(), name="colour"),
    path(f"{C}/stock/", processing.StockView.as_view(), name="stock"),
    path(
        f"{C}/lots/<uuid:lot_id>/material/",
        processing.LotMaterialView.as_view(),
        name="lot-material",
    ),
    path(f"{C}/process-runs/", processing.ProcessRunsView.as_view(), name="process-runs"),
    path(f"{C}/recipes/", mixing.RecipesView.as_view(), name="recipes"),
    path(f"{C}/batches/", mixing.BatchesView.as_view(), name="batches"),
    path(f"{C}/batches/<uuid:batch_id>/", mixing.BatchView.as_view(), name="batch"),
    path(f"{C}/presses/", pressing.PressesView.as_view(), name="presses"),
    path(f"{C}/pressings/", pressing.PressingsView.as_view(), name="pressings"),
    path(
        f"{C}/pressings/<uuid:pressing_id>/finish/",
        pressing.PressingFinishView.as_view(),
        name="pressing-finish",
    ),
    path(f"{C}/products/", selling.ProductsView.as_view(), name="products"),
    path(
        f"{C}/products/<uuid:product_id>/times/",
        selling.ProductTimesView.as_view(),
        name="product-times",
    ),
    path(
        f"{C}/products/<uuid:product_id>/story/",
        passports.ProductStoryView.as_view(),
        name="product-story",
    ),
    path(
        f"{C}/products/<uuid:product_id>/passport/",
        passports.ProductPassportView.as_view(),
        name="product-passport",
    ),
    path(f"{C}/price-sheets/", selling.PriceSheetsView.as_view(), name="price-sheets"),
    path(
        f"{C}/places/<uuid:place_id>/became/",
        passports.PlaceBecameView.as_view(),
        name="place-became",
    ),
    path("passports/<slug:slug>/", passports.PassportView.as_view(), name="passport"),
    path("passports/<slug:slug>/code/", passports.PassportCodeView.as_view(), name="passport-code"),
]
