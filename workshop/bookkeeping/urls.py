from django.urls import path

from workshop.bookkeeping import views

app_name = "bookkeeping"
urlpatterns = [
    path("", views.batches, name="batches"),
    path("accounts/", views.mapping, name="mapping"),
    path("accounts/suggested/", views.map_accounts, name="map_accounts"),
    path("close/", views.close, name="close"),
    path("close/back/", views.reopen, name="reopen"),
    path("tax/", views.tax, name="tax"),
    path("tax/table/", views.tax_table, name="tax_table"),
    path("papers/", views.papers, name="papers"),
    path("papers/zip/", views.papers_zip, name="papers_zip"),
    path("opening/", views.opening, name="opening"),
    path("opening/back/", views.take_back, name="take_back"),
    path("<int:no>/", views.batch, name="batch"),
    path("<int:no>/replace/", views.replace, name="replace"),
    path("<int:no>/<str:name>", views.file, name="file"),
]
